/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The steps of portable.c without a branch; exponents are taken from the bits and put into them. */
#include "signal/portable_many.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <string.h>

#include "signal/portable_series.h"
#include "signal/wide.h"

/* Whole numbers from 0 to 2^52 are the last bits of what is this much larger. */
static const double LAST_BITS = 0x1p52;

SHOT_INLINE uint64_t bits_of(double x) {
    uint64_t bits;
    memcpy(&bits, &x, sizeof bits);
    return bits;
}

SHOT_INLINE double of_bits(uint64_t bits) {
    double x;
    memcpy(&x, &bits, sizeof x);
    return x;
}

SHOT_INLINE double log_one(double x) {
    const uint64_t bits = bits_of(x), fraction = (UINT64_C(1) << 52) - 1;
    const double half = of_bits((bits & fraction) | bits_of(0.5)); /* from 1/2 to below 1 */
    const double biased = of_bits((bits >> 52) | bits_of(LAST_BITS)) - LAST_BITS;
    const bool low = half < PORTABLE_LOG_LEAST;
    return portable_log_of(low ? 2 * half : half, biased - (low ? 1023 : 1022));
}

SHOT_WIDE void portable_log_many(double *x, size_t n) {
    for (size_t i = 0; i < n; i++)
        x[i] = log_one(x[i]);
}

SHOT_INLINE double exp_one(double x) {
    static const double least = -708.39; /* the logarithm of DBL_MIN is a little less */
    const double reduced = greater(x, least), k = portable_exp_turns(reduced);
    const double power = of_bits(bits_of(k + (LAST_BITS + 1023)) << 52);
    return x < least ? 0 : portable_exp_rest(reduced, k) * power;
}

SHOT_WIDE void portable_exp_many(double *x, size_t n) {
    for (size_t i = 0; i < n; i++)
        x[i] = exp_one(x[i]);
}
