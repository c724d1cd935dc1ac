/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Window functions and their figures of merit. */
#include <shottrace/signal/window_function.h>

#include <math.h>

#include "signal/pi.h"

/* Coefficients of sums of cosines, w(x) = sum (-1)^k a_k cos(2 pi k x) on 0 <= x <= 1. */
enum { MAX_TERMS = 4 };
static const double COSINE_SUM[][MAX_TERMS] = {
    [SHOT_WINDOW_RECTANGLE] = {1},
    [SHOT_WINDOW_HANN] = {0.5, 0.5},
    [SHOT_WINDOW_HAMMING] = {0.54, 0.46},
    [SHOT_WINDOW_BLACKMAN] = {0.42, 0.5, 0.08},
    [SHOT_WINDOW_BLACKMAN_HARRIS] = {0.35875, 0.48829, 0.14128, 0.01168},
};

static double cosine_sum(const double *a, double x) {
    double w = 0;
    for (int k = MAX_TERMS - 1; k >= 0; k--)
        w += (k % 2 ? -a[k] : a[k]) * cos(2 * SHOT_PI * k * x);
    return w;
}

static double tukey(double taper, double x) {
    const double from_end = x < 0.5 ? x : 1 - x;
    if (taper <= 0 || from_end >= taper / 2)
        return 1;
    return 0.5 * (1 - cos(2 * SHOT_PI * from_end / taper));
}

/* Modified Bessel function of the first kind, order 0: the power series, whose terms are all
 * positive (Abramowitz & Stegun 1964, 9.6.10). */
static double bessel_i0(double x) {
    const double quarter = x * x / 4;
    double term = 1, sum = 1;
    for (double k = 1; term > sum * 1e-17; k++) {
        term *= quarter / (k * k);
        sum += term;
    }
    return sum;
}

double shot_window_kaiser_at(double beta, double x) {
    if (!(fabs(x) <= 1))
        return 0;
    return bessel_i0(beta * sqrt((1 - x) * (1 + x))) / bessel_i0(beta);
}

double shot_window_kaiser_beta(double attenuation) {
    if (attenuation > 50)
        return 0.1102 * (attenuation - 8.7);
    if (attenuation >= 21)
        return 0.5842 * pow(attenuation - 21, 0.4) + 0.07886 * (attenuation - 21);
    return 0;
}

double shot_window_kaiser_length(double attenuation, double width) {
    return (attenuation - 7.95) / (2.285 * width) + 1;
}

static double window_at(shot_window window, double x) {
    switch (window.kind) {
    case SHOT_WINDOW_KAISER:
        return shot_window_kaiser_at(window.parameter, 2 * x - 1);
    case SHOT_WINDOW_TUKEY:
        return tukey(window.parameter, x);
    default:
        return cosine_sum(COSINE_SUM[window.kind], x);
    }
}

/* The largest beta whose I0 is still a finite double. */
static const double MAX_BETA = 700;

static int is_window(shot_window window) {
    switch (window.kind) {
    case SHOT_WINDOW_RECTANGLE:
    case SHOT_WINDOW_HANN:
    case SHOT_WINDOW_HAMMING:
    case SHOT_WINDOW_BLACKMAN:
    case SHOT_WINDOW_BLACKMAN_HARRIS:
        return 1;
    case SHOT_WINDOW_KAISER:
        return window.parameter >= 0 && window.parameter <= MAX_BETA;
    case SHOT_WINDOW_TUKEY:
        return window.parameter >= 0 && window.parameter <= 1;
    }
    return 0;
}

shot_status shot_window_fill(shot_window window, shot_window_symmetry symmetry, size_t n,
                             double *w) {
    if (n == 0 || !is_window(window))
        return SHOT_ERR_RANGE;
    if (n == 1) {
        w[0] = 1;
        return SHOT_OK;
    }
    const size_t length = symmetry == SHOT_WINDOW_PERIODIC ? n : n - 1;
    for (size_t i = 0; i <= length / 2; i++) {
        w[i] = window_at(window, (double)i / (double)length);
        if (length - i < n) /* the mirror image, equal to the bit */
            w[length - i] = w[i];
    }
    return SHOT_OK;
}

/* |sum w_i exp(-j 2 pi f i / n)| at f bins. */
static double amplitude_at(const double *w, size_t n, double f) {
    double re = 0, im = 0;
    for (size_t i = 0; i < n; i++) {
        const double phase = 2 * SHOT_PI * f * ((double)i / (double)n);
        re += w[i] * cos(phase);
        im += w[i] * sin(phase);
    }
    return hypot(re, im);
}

/* Twice the offset in bins at which the main lobe falls to `target`; bisection between a bin that
 * is above and one that is below. */
static double main_lobe_width(const double *w, size_t n, double target) {
    double above = 0, below = 0.25;
    while (below < (double)n / 2 && amplitude_at(w, n, below) > target) {
        above = below;
        below += 0.25;
    }
    if (below >= (double)n / 2)
        return NAN;
    for (int step = 0; step < 50; step++) {
        const double middle = (above + below) / 2;
        *(amplitude_at(w, n, middle) > target ? &above : &below) = middle;
    }
    return above + below;
}

/* A maximum of the spectrum between two bins, by golden section (Kiefer 1953). */
static double highest_between(const double *w, size_t n, double low, double high) {
    const double golden = 0.61803398874989485;
    for (int step = 0; step < 40; step++) {
        const double a = high - golden * (high - low), b = low + golden * (high - low);
        if (amplitude_at(w, n, a) > amplitude_at(w, n, b))
            high = b;
        else
            low = a;
    }
    return amplitude_at(w, n, (low + high) / 2);
}

/* The highest amplitude beyond the first minimum, looked for in the 24 bins next to it: the
 * sidelobes of a window without jumps in the middle fall or stay level from there. */
static double highest_sidelobe(const double *w, size_t n) {
    const double step = 1.0 / 16, end = fmin((double)n / 2, 24);
    double f = step, best_at = 0, best = 0;
    while (f < end && amplitude_at(w, n, f + step) < amplitude_at(w, n, f))
        f += step;
    for (; f < end; f += step) {
        const double amplitude = amplitude_at(w, n, f);
        if (amplitude > best) {
            best = amplitude;
            best_at = f;
        }
    }
    return best_at > 0 ? highest_between(w, n, best_at - step, best_at + step) : 0;
}

static double decibels(double ratio) {
    return 20 * log10(ratio);
}

shot_status shot_window_measure(const double *w, size_t n, shot_window_figures *figures) {
    if (n < 2)
        return SHOT_ERR_RANGE;
    double sum = 0, squares = 0;
    for (size_t i = 0; i < n; i++) {
        sum += w[i];
        squares += w[i] * w[i];
    }
    if (!(sum > 0))
        return SHOT_ERR_SINGULAR;
    const double noise_bandwidth = (double)n * squares / (sum * sum);
    const double scalloping = -decibels(amplitude_at(w, n, 0.5) / sum);
    *figures = (shot_window_figures){
        .coherent_gain = sum / (double)n,
        .noise_bandwidth = noise_bandwidth,
        .scalloping_loss = scalloping,
        .process_loss = scalloping + 10 * log10(noise_bandwidth),
        .width_3db = main_lobe_width(w, n, sum * pow(10, -3.0 / 20)),
        .width_6db = main_lobe_width(w, n, sum * pow(10, -6.0 / 20)),
        .sidelobe = decibels(highest_sidelobe(w, n) / sum),
    };
    return isnan(figures->width_3db + figures->width_6db) ? SHOT_ERR_SINGULAR : SHOT_OK;
}

double shot_window_overlap_correlation(const double *w, size_t n, size_t overlap) {
    double product = 0, squares = 0;
    for (size_t i = 0; i < n; i++)
        squares += w[i] * w[i];
    if (overlap > n)
        overlap = n;
    for (size_t i = 0; i < overlap; i++)
        product += w[i] * w[i + n - overlap];
    return product / squares;
}
