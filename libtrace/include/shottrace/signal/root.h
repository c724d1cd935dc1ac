/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A root of a function of one variable, between two arguments where its sign differs. */
#ifndef SHOTTRACE_SIGNAL_ROOT_H
#define SHOTTRACE_SIGNAL_ROOT_H

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The function: its value at `x`; `context` is handed through unchanged. */
typedef double (*shot_root_function)(double x, const void *context);

/* Find x between `low` and `high` with f(x) = 0, to `tolerance` in x.
 *   tolerance  >= 0; 0 asks for all the digits that a double has
 * Returns SHOT_OK; SHOT_ERR_RANGE if low or high is not finite or the tolerance is negative;
 * SHOT_ERR_SINGULAR if f has the same sign at both ends or is not a number there.  *x is NaN on
 * failure.  At most 400 evaluations; where f jumps over zero, x is the place of the jump.
 * Source: T. R. Chandrupatla 1997, 'A new hybrid quadratic/bisection algorithm for finding the
 * zero of a nonlinear function without using derivatives', Advances in Engineering Software
 * 28(3):145-149. */
SHOT_API shot_status shot_root_find(shot_root_function f, const void *context, double low,
                                    double high, double tolerance, double *x);

#ifdef __cplusplus
}
#endif
#endif
