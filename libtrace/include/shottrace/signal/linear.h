/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Piecewise linear interpolation of uneven samples.
 *
 *     double t[] = {0, 0.9, 2.1, 3}, y[] = {0, 1.8, 0.6, 2.4};
 *     double at[] = {0.5, 1.0}, value[2];
 *     shot_linear(t, y, 4, at, 2, value);                         1.0, 1.7
 *
 * Rules: a sample that is asked for is returned to the bit; between two samples the straight line;
 * before the first and after the last sample, and beside a missing one, the answer is missing.
 *
 * A value needs only the two samples around it, so a stream may call this on any window that holds
 * both and gets the same bits.
 */
#ifndef SHOTTRACE_SIGNAL_LINEAR_H
#define SHOTTRACE_SIGNAL_LINEAR_H

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
SHOT_API shot_status shot_linear(const double *t, const double *y, size_t n, const double *at,
                                 size_t m, double *value);

#ifdef __cplusplus
}
#endif
#endif
