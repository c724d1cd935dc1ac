/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The weights of the band-limited resampler. */
#include "signal/bandlimited_kernel.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/window_function.h>

#include "signal/dot.h"
#include "signal/pi.h"

/* Phases in one period of the lower rate.  The kernel holds frequencies up to w = pi / PHASES
 * rad per phase; between four phases the cubic of Lagrange errs by at most 3/128 w^4 of an
 * amplitude (remainder of the interpolation polynomial), here 2.7e-8 or -151 dB ... */
enum { PHASES = 96 };

/* ... which for more than this attenuation must be smaller. */
enum { FINE_PHASES = 384, FINE_ABOVE = 140 };

/* A fraction's own phases are kept up to so many weights, 256 KiB: times written in milliseconds
 * make fractions of large numbers, for which interpolation between phases serves as well. */
enum { MOST_OWN = 32768 };

/* Phases this near to a row are on it: an error of 1e-9 samples is -170 dB of the highest tone. */
static const double ON_ROW = 1e-9;

/* Kaiser's length rule is an approximation; this much more keeps the promise (measured by
 * tests/bench/resample). */
static const double MARGIN_DB = 3;

/* Kaiser's window over I0(beta) as a polynomial in z = 1 - (u / reach)^2: the power series of the
 * Bessel function (Abramowitz & Stegun 1964, 9.6.10), sum (beta^2 / 4)^k / k!^2 z^k, up to terms
 * that no longer count at z = 1. */
static shot_status make_window(double beta, bandlimited_kernel *kernel) {
    enum { MOST_TERMS = 64 }; /* 48 are needed for 160 dB */
    double sum = 0, term = 1;
    kernel->window = malloc(MOST_TERMS * sizeof *kernel->window);
    if (kernel->window == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t k = 0; k < MOST_TERMS && term > 1e-18 * sum; k++) {
        kernel->window[kernel->terms++] = term;
        sum += term;
        term *= beta * beta / 4 / ((double)(k + 1) * (double)(k + 1));
    }
    for (size_t k = 0; k < kernel->terms; k++)
        kernel->window[k] /= sum;
    return SHOT_OK;
}

static double window_at(const bandlimited_kernel *f, double u) {
    const double z = 1 - (u / f->reach) * (u / f->reach);
    double value = 0;
    for (size_t k = f->terms; k > 0; k--)
        value = value * z + f->window[k - 1];
    return z >= 0 ? value : 0;
}

static double sinc_at(const bandlimited_kernel *f, double u) {
    const double angle = 2 * SHOT_PI * f->cutoff * u;
    return 2 * f->cutoff * (fabs(angle) < 1e-8 ? 1 : sin(angle) / angle);
}

/* One row: the weights of samples i - half + 1 .. i + half for an output at i + phase.  To the
 * windowed sinc, (a + b u) times the window is added so that the weights sum to 1 and their first
 * moment is 0: then a straight line passes exactly, not only to the stop band.  The window is
 * itself a low-pass far narrower than the kernel, so nothing changes where the kernel rejects.
 * `window` is a row of scratch. */
static void fill_row(const bandlimited_kernel *f, double phase, double *row, double *window) {
    const size_t n = 2 * f->half;
    const double first_u = phase + (double)f->half - 1;
    double w0 = 0, w1 = 0, k0 = 0, k1 = 0, k2 = 0;
    for (size_t k = 0; k < n; k++) {
        const double u = first_u - (double)k;
        window[k] = window_at(f, u);
        row[k] = window[k] * sinc_at(f, u);
        w0 += row[k];
        w1 += row[k] * u;
        k0 += window[k];
        k1 += window[k] * u;
        k2 += window[k] * u * u;
    }
    const double determinant = k0 * k2 - k1 * k1;
    const double a = ((1 - w0) * k2 + w1 * k1) / determinant;
    const double b = (-w1 * k0 - (1 - w0) * k1) / determinant;
    for (size_t k = 0; k < n; k++)
        row[k] += (a + b * (first_u - (double)k)) * window[k];
}

/* The row for phase (p - 1) / phases. */
static const double *row_of(bandlimited_kernel *kernel, size_t p) {
    const size_t n = 2 * kernel->half;
    double *row = kernel->rows + p * n;
    if (!kernel->ready[p]) {
        const double phase = ((double)p - 1) / (double)kernel->phases;
        fill_row(kernel, phase, row, kernel->rows + (kernel->phases + 3) * n);
        kernel->ready[p] = true;
    }
    return row;
}

shot_status bandlimited_kernel_make(const bandlimited_design *d, bandlimited_kernel *kernel) {
    const double attenuation = d->attenuation + MARGIN_DB;
    const double width = 2 * SHOT_PI * (d->stop - d->pass);
    const double reach = (shot_window_kaiser_length(attenuation, width) - 1) / 2;
    const double wanted = (d->attenuation > FINE_ABOVE ? FINE_PHASES : PHASES) * 2 * d->stop;
    /* One more sample on each side, so that the rows beside phase 0 and 1 fit in too. */
    const double half = ceil(reach) + 1;
    const bool own = d->up > 0 && (double)d->up * 2 * half <= MOST_OWN;
    const double parts = own ? (double)d->up : 1;
    const double phases = parts * ceil(wanted / parts);
    *kernel = (bandlimited_kernel){.cutoff = (d->pass + d->stop) / 2, .reach = reach};
    if ((phases + 4) * 2 * half > (double)(SIZE_MAX / 16))
        return SHOT_ERR_MEMORY;
    kernel->half = (size_t)half;
    kernel->phases = (size_t)phases;
    /* and a row of scratch at the end */
    kernel->rows = malloc((kernel->phases + 4) * 2 * kernel->half * sizeof *kernel->rows);
    kernel->ready = calloc(kernel->phases + 3, sizeof *kernel->ready);
    if (kernel->rows == NULL || kernel->ready == NULL)
        return SHOT_ERR_MEMORY;
    return make_window(shot_window_kaiser_beta(attenuation), kernel);
}

/* An output between two rows. */
typedef struct between {
    size_t row;     /* the one at or before it */
    double part[4]; /* what the rows row - 1 .. row + 2 count; only [1] where it lies on the row */
    bool on_row;
} between;

/* Cubic of Lagrange through the rows at -1, 0, 1, 2 (Abramowitz & Stegun 1964, 25.2.13). */
static between rows_around(const bandlimited_kernel *kernel, double phase) {
    const double place = phase * (double)kernel->phases;
    const double below = floor(place + ON_ROW);
    const double s = place - below;
    const size_t row = (size_t)below + 1;
    if (fabs(s) <= ON_ROW)
        return (between){row, {0, 1, 0, 0}, true};
    return (between){row,
                     {-s * (s - 1) * (s - 2) / 6, (s + 1) * (s - 1) * (s - 2) / 2,
                      -s * (s + 1) * (s - 2) / 2, s * (s + 1) * (s - 1) / 6},
                     false};
}

double bandlimited_kernel_apply(bandlimited_kernel *kernel, const double *x, double phase) {
    const size_t n = 2 * kernel->half;
    const double *first = x - (kernel->half - 1);
    const between b = rows_around(kernel, phase);
    if (b.on_row)
        return dot(row_of(kernel, b.row), first, n);
    return b.part[0] * dot(row_of(kernel, b.row - 1), first, n) +
           b.part[1] * dot(row_of(kernel, b.row), first, n) +
           b.part[2] * dot(row_of(kernel, b.row + 1), first, n) +
           b.part[3] * dot(row_of(kernel, b.row + 2), first, n);
}

SHOT_WIDE static void four_products(const double *restrict row, const double *restrict x,
                                    size_t step, size_t n, double *restrict out) {
    dot_four(row, x, step, n, out);
}

void bandlimited_kernel_apply_four(bandlimited_kernel *kernel, const double *x, size_t step,
                                   double phase, double *y) {
    const size_t n = 2 * kernel->half;
    const double *first = x - (kernel->half - 1);
    const between b = rows_around(kernel, phase);
    double part[4][4];
    if (b.on_row) {
        four_products(row_of(kernel, b.row), first, step, n, y);
        return;
    }
    for (size_t r = 0; r < 4; r++)
        four_products(row_of(kernel, b.row - 1 + r), first, step, n, part[r]);
    for (size_t k = 0; k < 4; k++)
        y[k] = b.part[0] * part[0][k] + b.part[1] * part[1][k] + b.part[2] * part[2][k] +
               b.part[3] * part[3][k];
}

void bandlimited_kernel_weights(bandlimited_kernel *kernel, double phase, double *weight) {
    const size_t n = 2 * kernel->half;
    const between b = rows_around(kernel, phase);
    memset(weight, 0, n * sizeof *weight);
    for (size_t r = b.on_row ? 1 : 0; r < (b.on_row ? 2 : 4); r++) {
        const double *row = row_of(kernel, b.row - 1 + r);
        for (size_t k = 0; k < n; k++)
            weight[k] += b.part[r] * row[k];
    }
}

void bandlimited_kernel_clear(bandlimited_kernel *kernel) {
    free(kernel->window);
    free(kernel->rows);
    free(kernel->ready);
    *kernel = (bandlimited_kernel){0};
}
