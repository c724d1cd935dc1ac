/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The series of the portable exponential and logarithm, for one number and for many. */
#ifndef SHOT_SIGNAL_PORTABLE_SERIES_H
#define SHOT_SIGNAL_PORTABLE_SERIES_H

#include <math.h>

#include "inline.h"

/* ln 2 in two parts: the first has 32 significant bits, so that k times it is exact for |k| < 2^20
 * (Cody & Waite 1980, 'Software Manual for the Elementary Functions'). */
#define PORTABLE_LN2_HIGH 0x1.62e42feep-1
#define PORTABLE_LN2_LOW  0x1.a39ef35793c76p-33

/* By how many powers of two to take x down to |r| <= ln 2 / 2. */
SHOT_INLINE double portable_exp_turns(double x) {
    return floor(x * 1.4426950408889634 + 0.5);
}

/* e to the power of what they leave.  Two chains, of the even and the odd powers, so that a
 * processor can work on both at once. */
SHOT_INLINE double portable_exp_rest(double x, double k) {
    const double r = (x - k * PORTABLE_LN2_HIGH) - k * PORTABLE_LN2_LOW, z = r * r;
    double a = 1.0 / 479001600, b = 1.0 / 6227020800;
    a = a * z + 1.0 / 3628800, b = b * z + 1.0 / 39916800;
    a = a * z + 1.0 / 40320, b = b * z + 1.0 / 362880;
    a = a * z + 1.0 / 720, b = b * z + 1.0 / 5040;
    a = a * z + 1.0 / 24, b = b * z + 1.0 / 120;
    a = a * z + 1.0 / 2, b = b * z + 1.0 / 6;
    return 1 + (r + z * (a + r * b));
}

/* A number goes to from this to less than twice this. */
#define PORTABLE_LOG_LEAST 0.70710678118654752

/* The logarithm of m times 2^exponent, with m in that range: ln m = 2 artanh s with s = (m - 1)/(m
 * + 1), |s| < 0.172; s^25/25 is below 1e-20. */
SHOT_INLINE double portable_log_of(double m, double exponent) {
    const double f = m - 1, s = f / (m + 1), z = s * s, z2 = z * z;
    double even = 1.0 / 23, odd = 1.0 / 21; /* s^3/3 + s^5/5 + ... over s, in two chains */
    even = even * z2 + 1.0 / 19, odd = odd * z2 + 1.0 / 17;
    even = even * z2 + 1.0 / 15, odd = odd * z2 + 1.0 / 13;
    even = even * z2 + 1.0 / 11, odd = odd * z2 + 1.0 / 9;
    even = even * z2 + 1.0 / 7, odd = odd * z2 + 1.0 / 5;
    even = even * z2 + 1.0 / 3;
    const double series = z * (even + z * odd);
    /* 2 s = f - s f, exact in its first term, keeps the digits of x near 1. */
    return exponent * PORTABLE_LN2_HIGH +
           (f - (s * (f - 2 * series) - exponent * PORTABLE_LN2_LOW));
}

#endif
