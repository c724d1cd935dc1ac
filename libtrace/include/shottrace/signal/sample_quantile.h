/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Quantiles of a sample. */
#ifndef SHOTTRACE_SIGNAL_SAMPLE_QUANTILE_H
#define SHOTTRACE_SIGNAL_SAMPLE_QUANTILE_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Sort x[0..n-1] rising in place, with missing values (NaN) last.  Returns how many are present,
 * which is the n for the function below.  Allocates nothing; n log n also for sorted and for
 * equal data (heapsort: Williams 1964, Comm. ACM 7(6):347-348). */
SHOT_API size_t shot_sample_quantile_sort(double *x, size_t n);

/* The quantile of a sorted sample, by linear interpolation of the order statistics at
 * 1 + (n - 1) p: definition 7 of Hyndman & Fan 1996, 'Sample quantiles in statistical packages',
 * The American Statistician 50(4):361-365.  p = 0.5 is the median.
 *   sorted  rising, no missing values [n]
 *   p       0 <= p <= 1
 * NaN if n = 0 or p is outside its range. */
SHOT_API double shot_sample_quantile(const double *sorted, size_t n, double p);

#ifdef __cplusplus
}
#endif
#endif
