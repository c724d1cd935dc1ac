/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Median and median absolute deviation of an array: level and scatter that half of the samples may
 * spoil without moving them far.
 *
 *     double level, sd = SHOT_MAD_TO_SD * shot_median_mad(copy, n, &level);
 *
 * Both reorder their array: give them a copy where the order matters.  Missing samples (NaN) are
 * left out.  Nothing is allocated; the time is proportional to n, n log n at worst.
 *
 * Source: Hampel 1974, 'The influence curve and its role in robust estimation', J. Am. Stat. Assoc.
 * 69:383-393; selection by Hoare 1961, 'Algorithm 65: Find', Comm. ACM 4(7):321-322.
 */
#ifndef SHOTTRACE_SIGNAL_MEDIAN_H
#define SHOTTRACE_SIGNAL_MEDIAN_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The standard deviation of normal noise is this times its median absolute deviation:
 * 1 / quantile(3/4) of the standard normal. */
#define SHOT_MAD_TO_SD 1.4826022185056018602

/* The median of x[0..n-1]; the mean of the two middle ones for an even number of values; NaN if
 * there are none. */
SHOT_API double shot_median(double *x, size_t n);

/* The median of |x - median(x)|, not scaled; *median (may be NULL) gets the median.  x holds
 * absolute deviations afterwards.  NaN if there are no values. */
SHOT_API double shot_median_mad(double *x, size_t n, double *median);

#ifdef __cplusplus
}
#endif
#endif
