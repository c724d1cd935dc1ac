/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Mean, standard deviation and lag-1 autocorrelation of a sample, with the digits that the data
 * have: two passes, the second corrected, so that a small scatter on a large mean survives. */
#ifndef SHOTTRACE_SIGNAL_MOMENTS_H
#define SHOTTRACE_SIGNAL_MOMENTS_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_moments {
    size_t n;    /* values that are not missing */
    double mean; /* NaN if n = 0 */
    double sd;   /* standard deviation, divisor n - 1; NaN if n < 2 */
} shot_moments;

/* Moments of x[0..n-1]; missing values (NaN) are left out.
 * Source: Chan, Golub & LeVeque 1983, 'Algorithms for computing the sample variance: analysis and
 * recommendations', The American Statistician 37(3):242-247, eq. 1.7 (corrected two-pass). */
SHOT_API shot_moments shot_moments_find(const double *x, size_t n);

/* Lag-1 autocorrelation about the common mean, sum (x_i - m)(x_{i+1} - m) / sum (x_i - m)^2, as in
 * the NIST Statistical Reference Datasets.  Pairs with a missing value are left out.  NaN if there
 * is no scatter. */
SHOT_API double shot_moments_lag1(const double *x, size_t n);

/* The standard deviation within groups: sqrt(sum (n_i - 1) s_i^2 / sum (n_i - 1)) over the groups
 * that have at least two values.  *df (may be NULL) gets sum (n_i - 1).  NaN and 0 if no group
 * has. */
SHOT_API double shot_moments_pooled_sd(const shot_moments *group, size_t groups, double *df);

#ifdef __cplusplus
}
#endif
#endif
