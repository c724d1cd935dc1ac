/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Elementary functions whose last bit is the same everywhere.
 *
 * The C library's exp, log and sin differ in their last bit between systems, and a compiler may
 * evaluate them at build time with yet another rounding.  Simulated shots must be the same bytes
 * on every machine, so they use these: nothing but +, -, *, / and exact scaling by powers of two,
 * in a fixed order.  They hold wherever double is IEEE 754 binary64 evaluated in double
 * (FLT_EVAL_METHOD 0) and contraction is off.
 *
 *     double left = shot_portable_exp(-dt / tau);
 *
 * Accuracy: within 2 units in the last place of the true value over the range stated.
 */
#ifndef SHOTTRACE_SIGNAL_PORTABLE_H
#define SHOTTRACE_SIGNAL_PORTABLE_H

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* e to the power x.  0 below -745, infinite above 709.78, NaN for NaN. */
SHOT_API double shot_portable_exp(double x);

/* Natural logarithm, x > 0.  -infinity for 0, NaN for negative x and NaN. */
SHOT_API double shot_portable_log(double x);

/* x to the power y for x >= 0: exp(y log x), so that its relative error grows with |y log x|
 * (1e-14 for |y log x| < 30).  0 to a positive power is 0; anything to the power 0 is 1. */
SHOT_API double shot_portable_pow(double x, double y);

/* sin(2 pi x): the argument is in turns, so that its reduction is exact.  |x| < 2^52. */
SHOT_API double shot_portable_sin_turns(double x);

#ifdef __cplusplus
}
#endif
#endif
