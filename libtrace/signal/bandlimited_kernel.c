/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The weights of the band-limited resampler. */
#include "signal/bandlimited_kernel.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/window_function.h>

#include "signal/dot.h"
#include "signal/pi.h"

/* Phases in one period of the lower rate.  The kernel holds frequencies up to w = pi / PHASES
 * rad per phase; between four phases the cubic of Lagrange errs by at most 3/128 w^4 of an
 * amplitude (remainder of the interpolation polynomial), here 2.7e-8 or -151 dB ... */
enum { PHASES = 96 };

/* ... which for more than this attenuation must be smaller. */
enum { FINE_PHASES = 384, FINE_ABOVE = 140 };

/* Phases this near to a row are on it: an error of 1e-9 samples is -170 dB of the highest tone. */
static const double ON_ROW = 1e-9;

/* Kaiser's length rule is an approximation; this much more keeps the promise (measured by
 * tests/bench/resample). */
static const double MARGIN_DB = 3;

typedef struct low_pass {
    double cutoff; /* cycles per input sample */
    double half;   /* half length in input samples */
    double beta;
} low_pass;

static low_pass design(double period, shot_bandlimited_quality quality) {
    const double attenuation = quality.attenuation + MARGIN_DB;
    const double width = (1 - quality.keep) * SHOT_PI / period;
    return (low_pass){
        .cutoff = (1 + quality.keep) / 4 / period,
        .half = (shot_window_kaiser_length(attenuation, width) - 1) / 2,
        .beta = shot_window_kaiser_beta(attenuation),
    };
}

static double weight_at(const low_pass *f, double u) {
    const double angle = 2 * SHOT_PI * f->cutoff * u;
    const double sinc = fabs(angle) < 1e-8 ? 1 : sin(angle) / angle;
    return 2 * f->cutoff * sinc * shot_window_kaiser_at(f->beta, u / f->half);
}

/* Add (a + b u) times the window so that the weights sum to 1 and their first moment is 0: then a
 * straight line passes exactly, not only to the stop band.  The window is itself a low-pass far
 * narrower than the kernel, so nothing changes where the kernel rejects. */
static void keep_straight_lines(const low_pass *f, size_t n, double first_u, double *row) {
    double w0 = 0, w1 = 0, k0 = 0, k1 = 0, k2 = 0;
    for (size_t k = 0; k < n; k++) {
        const double u = first_u - (double)k, window = shot_window_kaiser_at(f->beta, u / f->half);
        w0 += row[k];
        w1 += row[k] * u;
        k0 += window;
        k1 += window * u;
        k2 += window * u * u;
    }
    const double determinant = k0 * k2 - k1 * k1;
    const double a = ((1 - w0) * k2 + w1 * k1) / determinant;
    const double b = (-w1 * k0 - (1 - w0) * k1) / determinant;
    for (size_t k = 0; k < n; k++) {
        const double u = first_u - (double)k;
        row[k] += (a + b * u) * shot_window_kaiser_at(f->beta, u / f->half);
    }
}

/* One row: the weights of samples i - half + 1 .. i + half for an output at i + phase. */
static void fill_row(const low_pass *f, size_t half, double phase, double *row) {
    const double first_u = phase + (double)half - 1;
    for (size_t k = 0; k < 2 * half; k++)
        row[k] = weight_at(f, first_u - (double)k);
    keep_straight_lines(f, 2 * half, first_u, row);
}

shot_status bandlimited_kernel_make(double ratio, uint64_t up, shot_bandlimited_quality quality,
                                    bandlimited_kernel *kernel) {
    const double period = fmax(1, ratio); /* of the lower rate, in input samples */
    const low_pass f = design(period, quality);
    const double wanted = quality.attenuation > FINE_ABOVE ? FINE_PHASES : PHASES;
    const double parts = up > 0 ? (double)up : 1;
    const double phases = parts * ceil(wanted / (period * parts));
    /* One more sample on each side, so that the rows beside phase 0 and 1 fit in too. */
    const double half = ceil(f.half) + 1;
    *kernel = (bandlimited_kernel){0};
    if ((phases + 3) * 2 * half > (double)(SIZE_MAX / 16))
        return SHOT_ERR_MEMORY;
    kernel->half = (size_t)half;
    kernel->phases = (size_t)phases;
    kernel->rows = malloc((kernel->phases + 3) * 2 * kernel->half * sizeof *kernel->rows);
    if (kernel->rows == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t p = 0; p < kernel->phases + 3; p++)
        fill_row(&f, kernel->half, ((double)p - 1) / phases, kernel->rows + p * 2 * kernel->half);
    return SHOT_OK;
}

double bandlimited_kernel_apply(const bandlimited_kernel *kernel, const double *x, double phase) {
    const size_t n = 2 * kernel->half;
    const double *first = x - (kernel->half - 1);
    const double place = phase * (double)kernel->phases;
    const double below = floor(place + ON_ROW);
    const double s = place - below;
    const double *row = kernel->rows + ((size_t)below + 1) * n;
    if (fabs(s) <= ON_ROW)
        return dot(row, first, n);
    /* Cubic of Lagrange through the rows at -1, 0, 1, 2 (Abramowitz & Stegun 1964, 25.2.13). */
    return -s * (s - 1) * (s - 2) / 6 * dot(row - n, first, n) +
           (s + 1) * (s - 1) * (s - 2) / 2 * dot(row, first, n) -
           s * (s + 1) * (s - 2) / 2 * dot(row + n, first, n) +
           s * (s + 1) * (s - 1) / 6 * dot(row + 2 * n, first, n);
}

void bandlimited_kernel_clear(bandlimited_kernel *kernel) {
    free(kernel->rows);
    *kernel = (bandlimited_kernel){0};
}
