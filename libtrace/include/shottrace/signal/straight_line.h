/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The straight line through a stretch of samples: its level, its slope, and how sure both are. */
#ifndef SHOTTRACE_SIGNAL_STRAIGHT_LINE_H
#define SHOTTRACE_SIGNAL_STRAIGHT_LINE_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_straight_line {
    size_t n;            /* samples used */
    double centre;       /* mean time of the samples */
    double level, slope; /* y = level + slope * (t - centre) */
    double sd;           /* residual standard deviation, divisor n - 2 */
    double correlation;  /* lag-1 autocorrelation of the residuals, not below 0 */
    double effective_n;  /* n (1 - r) / (1 + r), at least 3: samples that tell something new */
    double level_se, slope_se;
    double freedom; /* degrees of freedom of both, for Student's t; at least 1 */
} shot_straight_line;

/* Least squares through the samples with from <= t <= to; missing ones (NaN) are left out.
 *   t, y   times, rising, and values [n]
 * Standard errors count the residuals as a first-order autoregression, as samples out of a sensor
 * with inertia are: n is replaced by the effective number of samples.
 * Returns SHOT_OK; SHOT_ERR_SINGULAR with fewer than three samples in the stretch.
 * Source: Zwiers & von Storch 1995, 'Taking serial correlation into account in tests of the mean',
 * J. Climate 8:336-351, eq. 4 with an AR(1) model. */
SHOT_API shot_status shot_straight_line_fit(const double *t, const double *y, size_t n, double from,
                                            double to, shot_straight_line *out);

/* The same line, with standard errors from the long-run variance of the residuals, for noise of any
 * correlation that dies out within the stretch: a sensor with inertia and rounding, slow drift, the
 * ripple of a pump, a channel that was smoothed.  The residuals are whitened by a first-order
 * autoregression, the variance at frequency 0 of what is left is taken from its lowest cosines, and
 * the whitening is undone.  With fewer than 20 samples that says nothing: then as above.
 * For n samples some 30 n multiplications; allocates nothing.
 * Sources: whitening, Andrews & Monahan 1992, 'An improved heteroskedasticity and autocorrelation
 * consistent covariance matrix estimator', Econometrica 60:953-966, which also holds the
 * coefficient under 0.97 as here; the cosines, 0.4 n^(2/3) of them, and Student's t: Lazarus,
 * Lewis, Stock & Watson 2018, 'HAR inference: recommendations for practice', J. Bus. Econ. Stat.
 * 36:541-559, sec. 3; the bias of the coefficient about a line, -(2 + 5 r)/n, of which 4 r: Shaman
 * & Stine 1988, 'The bias of autoregressive coefficient estimators', JASA 83:842-848, and r: the
 * pair that is missing from the sum of products. */
SHOT_API shot_status shot_straight_line_fit_long_run(const double *t, const double *y, size_t n,
                                                     double from, double to,
                                                     shot_straight_line *out);

/* Half the two-sided interval at `level` of an estimate of the line with that standard error. */
SHOT_API double shot_straight_line_half_width(const shot_straight_line *line, double se,
                                              double level);

#ifdef __cplusplus
}
#endif
#endif
