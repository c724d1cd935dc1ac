/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Running mean under a Gaussian. */
#ifndef SHOT_SIGNAL_GAUSSIAN_MEAN_H
#define SHOT_SIGNAL_GAUSSIAN_MEAN_H

#include <stddef.h>

#include <shottrace/status.h>

/* out[i] = sum of w(k) x_(i+k) / sum of w(k), w a Gaussian of standard deviation `width` cut at
 * four of them, over the samples there are: at the ends fewer.  Narrow ones are summed one by one,
 * wide ones by a transform, in n log n whatever the width, within some 1e-15 of the largest sample.
 *   x      none missing                       [n]
 *   width  in samples; 0 copies
 *   out    not x                              [n]
 * Errors: SHOT_ERR_MEMORY; SHOT_ERR_RANGE beyond 2^30 samples. */
shot_status gaussian_mean(const double *x, size_t n, double width, double *out);

#endif
