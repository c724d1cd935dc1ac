/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One polynomial fitted by least squares to the samples around a place, on their true times: its
 * value and derivatives there and near by, and how much of the samples' noise they carry.
 *
 *     shot_local_fit *fit;
 *     shot_local_fit_new(2, &fit);                                  a parabola
 *     shot_local_fit_set(fit, t, y, n, t[i], 0);                    around t[i], even weights
 *     shot_local_fit_value v = shot_local_fit_at(fit, t[i], 1);     slope there
 *     slope = v.value, se = sd_of_noise * sqrt(v.gain);
 *     shot_local_fit_free(fit);
 *
 * Missing samples (NaN) are left out.  Times are taken relative to the centre, so a clock that
 * starts far from zero loses nothing beyond what its stamps have lost already.  On evenly spaced
 * samples the result is the Savitzky-Golay filter, of which this is the form for any spacing.
 *
 * The polynomial is held in a basis that is orthonormal over the samples at hand, made by the
 * three-term idea with full orthogonalisation; no power of time is ever summed, so that orders up
 * to the number of samples less one stay accurate.
 *
 * Sources: Savitzky & Golay 1964, Anal. Chem. 36:1627-1639; Gorry 1991, 'General least-squares
 * smoothing and differentiation of nonuniformly spaced data by the convolution method', Anal.
 * Chem. 63:534-536; Cleveland 1979, 'Robust locally weighted regression and smoothing
 * scatterplots', J. Am. Stat. Assoc. 74:829-836 (taper); Forsythe 1957, 'Generation and use of
 * orthogonal polynomials for data-fitting with a digital computer', J. SIAM 5:74-88; Brubeck,
 * Nakatsukasa & Trefethen 2021, 'Vandermonde with Arnoldi', SIAM Rev. 63:405-415.
 */
#ifndef SHOTTRACE_SIGNAL_LOCAL_FIT_H
#define SHOTTRACE_SIGNAL_LOCAL_FIT_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_local_fit shot_local_fit;

typedef struct shot_local_fit_value {
    double value; /* of the polynomial or its derivative, in units of y per second^derivative */
    double gain;  /* variance of `value` for independent noise of variance 1 in each sample: the sum
                     of the squared weights */
} shot_local_fit_value;

/* A fit of polynomials of one order (0 constant, 1 line, 2 parabola, ...).  Its memory grows to
 * the largest window that it meets and stays; nothing else is allocated.
 * Free with shot_local_fit_free.  Returns SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_local_fit_new(size_t order, shot_local_fit **out);

/* Fit the samples.
 *   t, y     times in seconds (in any order, finite) and values, NaN where missing    [n]
 *   centre   the place around which is fitted, s; best in the midst of the samples
 *   taper    0: every sample counts alike.  Else the half-width in seconds, > 0, of tricube
 *            weights (1 - |u|^3)^3, u = (t - centre) / taper; samples with |u| >= 1 do not count
 * Nothing of t and y is kept.  Returns SHOT_OK; SHOT_ERR_SINGULAR if fewer distinct times than
 * order + 1 bear a value; SHOT_ERR_RANGE for a negative taper; SHOT_ERR_MEMORY.  After a failure
 * the values of the fit are NaN. */
SHOT_API shot_status shot_local_fit_set(shot_local_fit *fit, const double *t, const double *y,
                                        size_t n, double centre, double taper);

/* The fitted polynomial, or its `derivative`-th derivative, at a time. */
SHOT_API shot_local_fit_value shot_local_fit_at(const shot_local_fit *fit, double t,
                                                size_t derivative);

/* The weights by which the samples make that value: value = sum of weights[i] * y[i] over the
 * samples of the last shot_local_fit_set, 0 for those left out.
 *   weights   receives n numbers, the n of that call */
SHOT_API void shot_local_fit_weights(const shot_local_fit *fit, double t, size_t derivative,
                                     double *weights);

SHOT_API void shot_local_fit_free(shot_local_fit *fit);

#ifdef __cplusplus
}
#endif
#endif
