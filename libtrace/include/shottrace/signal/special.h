/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The two special functions under the distributions of statistics: the regularised incomplete
 * beta and gamma functions.  Both tails are computed, each to full relative accuracy, since a
 * small p is what a test needs and 1 - cdf has lost it. */
#ifndef SHOTTRACE_SIGNAL_SPECIAL_H
#define SHOTTRACE_SIGNAL_SPECIAL_H

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* A probability below, and the probability above: lower + upper = 1. */
typedef struct shot_tails {
    double lower, upper;
} shot_tails;

/* The largest parameter: the time grows as its root, and beyond this one would wait. */
#define SHOT_SPECIAL_LARGEST 1e15

/* Regularised incomplete beta function I_x(a, b) and its complement.
 *   a, b  > 0, up to SHOT_SPECIAL_LARGEST
 *   x, y  0 <= x <= 1 and y = 1 - x, both given so that neither loses digits near its end
 * Both tails are NaN where an argument is outside its range.  Relative accuracy about 1e-13 for a
 * and b up to 1e6.
 * Source: Didonato & Morris 1992, 'Algorithm 708: significant digit computation of the incomplete
 * beta function ratios', ACM Trans. Math. Softw. 18(3):360-373 (routine BFRAC: continued fraction),
 * evaluated by Lentz's method as modified by Thompson & Barnett 1986, 'Coulomb and Bessel
 * functions of complex arguments and order', J. Comput. Phys. 64:490-509; factor in front by
 * Loader 2000, 'Fast and accurate computation of binomial probabilities'. */
SHOT_API shot_tails shot_special_beta(double a, double b, double x, double y);

/* Regularised incomplete gamma functions P(a, x) (lower) and Q(a, x) (upper).
 *   a  > 0, up to SHOT_SPECIAL_LARGEST
 *   x  >= 0
 * Both tails are NaN where an argument is outside its range.
 * Source: NIST Digital Library of Mathematical Functions, eq. 8.7.1 (series, x < a + 1) and 8.9.2
 * (continued fraction, otherwise); factor in front by Loader 2000. */
SHOT_API shot_tails shot_special_gamma(double a, double x);

/* ln Gamma(x) for x > 0, without the global sign that lgamma() writes.  NaN for x <= 0. */
SHOT_API double shot_special_log_gamma(double x);

#ifdef __cplusplus
}
#endif
#endif
