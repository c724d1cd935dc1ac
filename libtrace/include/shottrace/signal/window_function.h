/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Window functions (tapers), and what each does to a spectrum.
 *
 *     double w[256];
 *     shot_window_fill((shot_window){.kind = SHOT_WINDOW_HANN}, SHOT_WINDOW_PERIODIC, 256, w);
 *     shot_window_figures f;
 *     shot_window_measure(w, 256, &f);            f.noise_bandwidth is 1.5 bins
 *
 * Sources: Harris 1978, 'On the use of windows for harmonic analysis with the discrete Fourier
 * transform', Proc. IEEE 66(1):51-83; Kaiser 1974, 'Nonrecursive digital filter design using the
 * I0-sinh window function', Proc. IEEE Symp. Circuits and Systems, 20-23; Tukey's cosine taper as
 * in Harris, equation 38.
 */
#ifndef SHOTTRACE_SIGNAL_WINDOW_FUNCTION_H
#define SHOTTRACE_SIGNAL_WINDOW_FUNCTION_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef enum shot_window_kind {
    SHOT_WINDOW_RECTANGLE,
    SHOT_WINDOW_HANN,
    SHOT_WINDOW_HAMMING,         /* 0.54, 0.46 */
    SHOT_WINDOW_BLACKMAN,        /* 0.42, 0.50, 0.08 */
    SHOT_WINDOW_BLACKMAN_HARRIS, /* four terms, -92 dB: 0.35875, 0.48829, 0.14128, 0.01168 */
    SHOT_WINDOW_KAISER,          /* parameter: beta >= 0, 0 is the rectangle */
    SHOT_WINDOW_TUKEY            /* parameter: part that is tapered, 0 rectangle .. 1 Hann */
} shot_window_kind;

typedef struct shot_window {
    shot_window_kind kind;
    double parameter; /* of Kaiser and Tukey; not looked at by the others */
} shot_window;

/* Periodic windows (one period of n samples: the symmetric window of n + 1 without its last) are
 * for spectra, symmetric ones for the design of filters. */
typedef enum shot_window_symmetry {
    SHOT_WINDOW_PERIODIC,
    SHOT_WINDOW_SYMMETRIC
} shot_window_symmetry;

/* Write the n samples of a window, 1 at its middle.  n >= 1; a window of one sample is 1.
 * SHOT_ERR_RANGE if n is 0, or the parameter is outside its interval (w untouched). */
SHOT_API shot_status shot_window_fill(shot_window window, shot_window_symmetry symmetry, size_t n,
                                      double *w);

/* A continuous Kaiser window: I0(beta sqrt(1 - x^2)) / I0(beta) for |x| <= 1, and 0 outside. */
SHOT_API double shot_window_kaiser_at(double beta, double x);

/* Kaiser's design rules for a filter that lets less than 10^(-attenuation/20) of an unwanted tone
 * through.  The shape of the window:
 *     attenuation in dB, >= 0
 * and the number of samples, not rounded, for a transition band of `width` rad/sample > 0. */
SHOT_API double shot_window_kaiser_beta(double attenuation);
SHOT_API double shot_window_kaiser_length(double attenuation, double width);

/* The figures of merit of Harris 1978, Table I.  A bin is 1/n cycles a sample. */
typedef struct shot_window_figures {
    double coherent_gain;   /* mean of w: what a tone's amplitude is multiplied with */
    double noise_bandwidth; /* equivalent noise bandwidth in bins: n sum w^2 / (sum w)^2 */
    double scalloping_loss; /* dB lost by a tone half way between two bins */
    double process_loss;    /* worst case in dB: scalloping loss + 10 log10 noise_bandwidth */
    double width_3db;       /* of the main lobe, in bins, 3 dB down */
    double width_6db;       /* the same 6 dB down */
    double sidelobe;        /* the highest one, in dB relative to the peak; below 0 */
} shot_window_figures;

/* Measure any window of n >= 2 samples.  O(n) for each of some hundred frequencies.
 * SHOT_ERR_RANGE if n < 2; SHOT_ERR_SINGULAR if the samples do not sum to something above 0, or
 * have no main lobe narrower than half the sampling rate. */
SHOT_API shot_status shot_window_measure(const double *w, size_t n, shot_window_figures *figures);

/* Correlation of white noise seen through two windows of n samples that share `overlap` <= n of
 * them (Harris 1978, equation 17): sum w_i w_{i + n - overlap} / sum w^2. */
SHOT_API double shot_window_overlap_correlation(const double *w, size_t n, size_t overlap);

#ifdef __cplusplus
}
#endif
#endif
