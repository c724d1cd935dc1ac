/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Derivatives by differences on any grid: the weights that are exact for polynomials through the
 * points, and the plain gradient of a series.  They pass all of the noise; to differentiate a noisy
 * channel fit it (shot_running_fit).
 */
#ifndef SHOTTRACE_SIGNAL_DIFFERENCE_H
#define SHOTTRACE_SIGNAL_DIFFERENCE_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Weights of the points x for the derivatives 0, 1, ..., highest at a place:
 *     k-th derivative = sum over i of weights[k * n + i] * y[i]
 *   x        n different points, in any order, not necessarily around `at`
 *   highest  highest derivative; those of n - 1 points and above are 0
 *   weights  receives (highest + 1) * n numbers
 * SHOT_ERR_RANGE for no points; SHOT_ERR_SINGULAR if two points are equal.
 * Source: Fornberg 1988, 'Generation of finite difference formulas on arbitrarily spaced grids',
 * Math. Comp. 51:699-706. */
SHOT_API shot_status shot_difference_weights(const double *x, size_t n, double at, size_t highest,
                                             double *weights);

/* The slope of y(t) at every sample: the parabola through the sample and its neighbours; at the
 * ends that of the line (curved false) or the parabola (curved true) through the nearest samples.
 *   t, y     rising times and values           [n]
 *   slope    receives n numbers; NaN beside a missing sample
 * SHOT_ERR_RANGE for fewer than 2 samples, 3 where `curved`; SHOT_ERR_DATA where the time does not
 * rise. */
SHOT_API shot_status shot_difference_gradient(const double *t, const double *y, size_t n,
                                              int curved, double *slope);

#ifdef __cplusplus
}
#endif
#endif
