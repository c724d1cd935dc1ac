/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The fraction of small whole numbers that a number stands for: 0.05 is 1/20, so that the 60th step
 * of 0.05 is 60/20 = 3 and not a rounding beside it.
 *
 *     shot_fraction f = shot_fraction_of(0.05, 1000000);             1 / 20
 */
#ifndef SHOTTRACE_SIGNAL_FRACTION_H
#define SHOTTRACE_SIGNAL_FRACTION_H

#include <stdint.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_fraction {
    uint64_t over, under; /* over / under in lowest terms; under = 0: there is none */
} shot_fraction;

/* The fraction with the smallest denominator up to `limit` that equals x > 0 within rounding
 * (1e-15 of x), if its numerator is below 10^9.  By continued fraction: Khinchin 1964, 'Continued
 * Fractions', chapter 1. */
SHOT_API shot_fraction shot_fraction_of(double x, uint64_t limit);

#ifdef __cplusplus
}
#endif
#endif
