/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Monotone piecewise cubic interpolation of uneven samples: smooth where the data are smooth, and
 * never outside the two samples around it, so that a plateau grows no ripple and a pressure of 0
 * never turns negative.
 *
 *     shot_monotone_cubic(t, y, n, at, m, value);
 *
 * The slope at a sample is the weighted harmonic mean of the slopes beside it, 0 at a local
 * extremum: Fritsch & Butland 1984, 'A method for constructing local monotone piecewise cubic
 * interpolants', SIAM J. Sci. Stat. Comput. 5:300-304, with the three-point shape-preserving
 * formula at the ends (Moler 2004, 'Numerical Computing with MATLAB', section 3.6).  It is not the
 * older two-pass rule of Fritsch & Carlson 1980, which differs by some percent.
 *
 * A sample that is asked for is returned to the bit.  A missing sample ends a run of samples: the
 * runs on its two sides are interpolated each on its own, and the answer between them is missing.
 * A run of two samples is a straight line.
 *
 * A value needs two samples on either side, so a stream may call this on any window that holds
 * them (or that ends where the samples end) and gets the same bits.
 */
#ifndef SHOTTRACE_SIGNAL_MONOTONE_CUBIC_H
#define SHOTTRACE_SIGNAL_MONOTONE_CUBIC_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Interpolate y(t) at the times `at`.
 *   t      sample times, rising                                  [n]
 *   y      samples, NaN where missing                            [n]
 *   n      number of samples; with 0 everything is missing
 *   at     wanted times, not falling                             [m]
 *   value  result, NaN where missing; not an alias of an input   [m]
 * One pass, O(n + m).  SHOT_ERR_RANGE if t does not rise or `at` falls or either is not a finite
 * number (value is then untouched). */
SHOT_API shot_status shot_monotone_cubic(const double *t, const double *y, size_t n,
                                         const double *at, size_t m, double *value);

/* The slope dy/dt of the interpolant at sample i of a run, 0 <= i < n, n >= 2, without missing
 * samples. */
SHOT_API double shot_monotone_cubic_slope(const double *t, const double *y, size_t n, size_t i);

#ifdef __cplusplus
}
#endif
#endif
