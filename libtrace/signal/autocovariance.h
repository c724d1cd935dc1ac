/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sums of products of a series with itself some samples later. */
#ifndef SHOT_SIGNAL_AUTOCOVARIANCE_H
#define SHOT_SIGNAL_AUTOCOVARIANCE_H

#include <stddef.h>

#include <shottrace/status.h>

/* sum[k] = sum over i of x_i x_(i+k), of the samples as they are, for k < lags.  Few lags are
 * summed one by one; many by a transform, in n log n, each within some 1e-15 of sum[0].
 *   x     none missing   [n]
 *   lags  1 .. n
 *   sum   out            [lags]
 * Errors: SHOT_ERR_MEMORY; SHOT_ERR_RANGE beyond 2^30 samples. */
shot_status autocovariance(const double *x, size_t n, size_t lags, double *sum);

#endif
