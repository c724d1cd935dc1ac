/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The distributions that tests and intervals stand on: normal, Student's t (central and
 * noncentral), F, chi-square, binomial.
 *
 *     double p = 2 * shot_student_tail(fabs(t), df);              two-sided p of a t test
 *     double half = shot_student_quantile(0.975, df) * se;        half a 95 % interval
 *
 * _cdf is the probability at or below the argument, _tail the probability above it (not 1 - cdf:
 * it keeps its digits where it is small), _quantile the argument whose cdf is p.  Degrees of
 * freedom need not be whole; for t they may be infinite, which gives the normal distribution.
 * A parameter outside its range gives NaN; so do more degrees of freedom or trials than 1e15
 * (SHOT_SPECIAL_LARGEST), but for t.  Relative accuracy of every central function is 1e-12
 * or better for up to 1e6 degrees of freedom.
 */
#ifndef SHOTTRACE_SIGNAL_DISTRIBUTION_H
#define SHOTTRACE_SIGNAL_DISTRIBUTION_H

#include <shottrace/signal/normal.h>
#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The standard normal distribution; its quantile, shot_normal_quantile(), stands in normal.h. */
SHOT_API double shot_normal_cdf(double z);
SHOT_API double shot_normal_tail(double z);
SHOT_API double shot_normal_density(double z);

/* Student's t with df > 0 degrees of freedom.
 * Source: Abramowitz & Stegun 1964, 'Handbook of Mathematical Functions', eq. 26.7.1. */
SHOT_API double shot_student_cdf(double t, double df);
SHOT_API double shot_student_tail(double t, double df);
SHOT_API double shot_student_quantile(double p, double df);

/* Noncentral t: the distribution of (Z + delta)/sqrt(C/df), Z standard normal, C chi-square with
 * df degrees of freedom.  It gives the power of t tests.
 *   df  >= 1; an infinite df gives the normal limit
 * Absolute accuracy 1e-10 for any delta, in a time that does not grow with it.  Source: definition
 * in Johnson, Kotz & Balakrishnan 1995, 'Continuous Univariate Distributions' vol. 2, ch. 31,
 * integrated by the trapezoidal rule (Trefethen & Weideman 2014, SIAM Review 56(3):385-458). */
SHOT_API double shot_noncentral_student_cdf(double t, double df, double delta);

/* Snedecor's F with df1 > 0 and df2 > 0 degrees of freedom: Abramowitz & Stegun 1964, eq. 26.6.2.
 */
SHOT_API double shot_f_cdf(double f, double df1, double df2);
SHOT_API double shot_f_tail(double f, double df1, double df2);
SHOT_API double shot_f_quantile(double p, double df1, double df2);

/* Chi-square with df > 0 degrees of freedom: Abramowitz & Stegun 1964, eq. 26.4.19. */
SHOT_API double shot_chi_square_cdf(double x, double df);
SHOT_API double shot_chi_square_tail(double x, double df);
SHOT_API double shot_chi_square_quantile(double p, double df);

/* Beta with shapes a > 0 and b > 0 on [0, 1]. */
SHOT_API double shot_beta_quantile(double p, double a, double b);

/* Binomial: k or fewer successes (cdf), more than k (tail), in n trials that each succeed with
 * probability 0 <= p <= 1.  Quantile: the smallest k whose cdf is at least q.
 * Source: Abramowitz & Stegun 1964, eq. 26.5.24. */
SHOT_API double shot_binomial_cdf(double k, double n, double p);
SHOT_API double shot_binomial_tail(double k, double n, double p);
SHOT_API double shot_binomial_quantile(double q, double n, double p);

#ifdef __cplusplus
}
#endif
#endif
