/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How much later one sequence does what another does, to a fraction of a sample, with a standard
 * error.
 *
 *     shot_delay d;
 *     shot_delay_find(pressure, flow, n, 50, &d);     flow lags by d.samples +- 1.96 d.se
 *
 * Both sequences are smoothed alike, by the narrowest Gaussian that leaves the slopes to the signal
 * instead of the noise (none, where there is little noise).  The delay is where the correlation
 * coefficient of b with the shifted a is highest: b_i is compared with a_{i - lag} over the same
 * part of b for every lag, so a trend or an offset does not pull towards lag 0.  Correlations at
 * whole lags come from a Fourier transform; between lags eight of them are interpolated by the
 * polynomial of Lagrange (a parabola through three is biased: Jacovitti & Scarano 1993, 'Discrete
 * time techniques for time delay estimation', IEEE Trans. Signal Process. 41:525-533).
 *
 * The standard error treats b = mean + gain a(t - delay) + noise as a regression and takes the
 * noise as it is: of any size, in both sequences, and correlated in time (autocovariances under
 * Parzen's window with the bandwidth of Andrews 1991, 'Heteroskedasticity and autocorrelation
 * consistent covariance matrix estimation', Econometrica 59:817-858, equations 6.2 and 6.4).  It
 * knows nothing of a delay that changes on the way, or of a b that is another shape than a.
 *
 * Of sequences that repeat themselves a delay is known but for whole periods: the correlation then
 * has several tops of one height, and which of them is the highest is chance.  Two tops are told
 * apart by the variances that the regression leaves at each, of which the logarithms scatter by
 * sqrt(2 / m) of m independent samples (Bartlett & Kendall 1946, 'The statistical analysis of
 * variance-heterogeneity and the logarithmic transformation', J. R. Stat. Soc. Suppl. 8:128-138);
 * a top that is not worse by SHOT_DELAY_CLEAR standard deviations of their difference is a rival.
 */
#ifndef SHOTTRACE_SIGNAL_DELAY_H
#define SHOTTRACE_SIGNAL_DELAY_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_delay {
    double samples;     /* b is late by this much; negative: a is */
    double se;          /* standard error, in samples */
    double correlation; /* of the smoothed sequences at that delay, 0 .. 1 */
    double gain;        /* b per unit of a */
    double smoothing;   /* standard deviation of the Gaussian, in samples; 0 for none */
    double freedom;     /* so many independent samples tell how well it fits */
    double rival;       /* another delay that fits as well, in samples; NaN if none does */
} shot_delay;

/* By so many standard deviations a delay has to fit better than any other. */
#define SHOT_DELAY_CLEAR 3

/* Samples at each end that a search up to `longest` samples keeps out of what it compares. */
#define SHOT_DELAY_MARGIN(longest) ((longest) + 4)

/* Find the delay of b against a, both evenly sampled at the same times.
 *   a, b     samples, none missing                     [n]
 *   n        >= 2 * SHOT_DELAY_MARGIN(longest) + 16
 *   longest  longest delay looked for, in samples, >= 1
 * SHOT_ERR_RANGE for an argument outside its interval or a missing sample; SHOT_ERR_SINGULAR if a
 * sequence is constant, or the correlation has no positive maximum inside the search;
 * SHOT_ERR_MEMORY.  On error *out is untouched. */
SHOT_API shot_status shot_delay_find(const double *a, const double *b, size_t n, size_t longest,
                                     shot_delay *out);

/* Whether another delay of the same pair, or of the one sequence with the negative of the other,
 * fits as well as the best one, by its correlation. */
SHOT_API bool shot_delay_fits_as_well(const shot_delay *best, double correlation);

#ifdef __cplusplus
}
#endif
#endif
