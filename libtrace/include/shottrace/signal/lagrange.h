/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Local polynomial interpolation: through the (up to) eight samples around a place.  For jittered
 * samples of a smooth signal it is far nearer to the truth than a line or a monotone cubic, and it
 * may overshoot like any polynomial: meant for bringing jittered samples onto an even grid before
 * they are filtered.
 *
 *     shot_lagrange(t, y, n, at, m, value);
 *
 * Four samples are used on either side, near an end of a run fewer, as many on the one side as on
 * the other.  An interval more than twice as long as the others around it (samples were lost) is
 * filled by the monotone cubic, which invents no swing.  A sample that is asked for is returned to
 * the bit; beside a missing sample the answer is missing.  A value needs four samples on either
 * side, so a stream may call this on any window that holds them and gets the same bits.
 *
 * Source: Abramowitz & Stegun 1964, 'Handbook of Mathematical Functions', 25.2.1; error bound
 * 25.2.3: for a tone of w rad a sample about w^8 / 900 half way between even samples.
 */
#ifndef SHOTTRACE_SIGNAL_LAGRANGE_H
#define SHOTTRACE_SIGNAL_LAGRANGE_H

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
 * SHOT_ERR_RANGE if t does not rise or `at` falls or either is not a finite number (value is then
 * untouched). */
SHOT_API shot_status shot_lagrange(const double *t, const double *y, size_t n, const double *at,
                                   size_t m, double *value);

#ifdef __cplusplus
}
#endif
#endif
