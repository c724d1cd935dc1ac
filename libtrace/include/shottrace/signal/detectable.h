/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How small a change a record can show: standard errors that no unbiased estimator can beat.
 *
 *     double se = shot_detectable_bend(noise.sd, noise.inflation, rate, 2);
 *     smallest = se * shot_detectable_factor(0.05, places, 0.9);
 *
 * A record of `rate` samples a second, whose noise has the standard deviation `sd` and is normal,
 * is looked at from `span` s before to `span` s after a change in its middle.  `inflation` is that
 * of shot_noise: correlated noise tells as much as so many times fewer samples (for spans much
 * longer than the correlation).  These are the Cramer-Rao bounds of the linear models named (Kay
 * 1993, 'Fundamentals of Statistical Signal Processing: Estimation Theory', theorems 3.2 and 4.1);
 * the sums over samples are taken as integrals, which needs several samples in the span.  NaN for
 * arguments outside their interval (all > 0; inflation >= 0). */
#ifndef SHOTTRACE_SIGNAL_DETECTABLE_H
#define SHOTTRACE_SIGNAL_DETECTABLE_H

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Of the difference between the levels before and after: y = a + d H(t).  Each mean of rate * span
 * samples has the variance sd^2 / (rate span), so se^2 = 2 sd^2 / (rate span). */
SHOT_API double shot_detectable_step(double sd, double inflation, double rate, double span);

/* Of the change of slope: y = a + b t + d max(t, 0).  What of max(t, 0) is not a + b t is
 * |t| / 2 - span / 4, whose square integrates to span^3 / 24, so se^2 = 24 sd^2 / (rate span^3). */
SHOT_API double shot_detectable_bend(double sd, double inflation, double rate, double span);

/* Of the time of a change of slope of that size, with a, b and d unknown: d times a step is what
 * the time adds to the model, and what of the step is not a + b t + c |t| integrates to span / 8,
 * so se^2 = 8 sd^2 / (rate span d^2).  In s. */
SHOT_API double shot_detectable_bend_time(double sd, double inflation, double rate, double span,
                                          double bend);

/* How many standard errors a change needs to be found with probability `power`, if one false find
 * in 1 / `false_alarm` records is allowed that have `places` independent places to look at: the sum
 * of two normal quantiles, the first two-sided and divided among the places (Bonferroni). */
SHOT_API double shot_detectable_factor(double false_alarm, double places, double power);

#ifdef __cplusplus
}
#endif
#endif
