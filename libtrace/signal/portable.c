/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Elementary functions by argument reduction and Taylor or arc-tanh series, as in
 * Muller 2016, 'Elementary Functions: Algorithms and Implementation', 3rd ed., chapters 9-11.
 * ldexp, frexp and floor are exact by definition and may be the C library's. */
#include <shottrace/signal/portable.h>

#include <math.h>
#include <stdint.h>
#include <string.h>

#include "signal/pi.h"

/* ln 2 in two parts: the first has 32 significant bits, so that k times it is exact for |k| < 2^20
 * (Cody & Waite 1980, 'Software Manual for the Elementary Functions'). */
static const double LN2_HIGH = 0x1.62e42feep-1;
static const double LN2_LOW = 0x1.a39ef35793c76p-33;

/* m times 2^k.  Most powers of two are doubles of their own, made from their bits. */
static double scale(double m, int k) {
    if (k < -1022 || k > 1023)
        return ldexp(m, k);
    const uint64_t bits = (uint64_t)(k + 1023) << 52;
    double power;
    memcpy(&power, &bits, sizeof power);
    return m * power;
}

double shot_portable_exp(double x) {
    if (isnan(x))
        return x;
    if (x < -745.5)
        return 0;
    if (x > 710)
        return INFINITY;
    const double k = floor(x * 1.4426950408889634 + 0.5);
    const double r = (x - k * LN2_HIGH) - k * LN2_LOW; /* |r| <= ln 2 / 2 */
    /* Two chains, of the even and the odd powers, so that a processor can work on both at once. */
    static const double even[] = {1.0 / 479001600, 1.0 / 3628800, 1.0 / 40320,
                                  1.0 / 720,       1.0 / 24,      1.0 / 2};
    static const double odd[] = {1.0 / 6227020800, 1.0 / 39916800, 1.0 / 362880,
                                 1.0 / 5040,       1.0 / 120,      1.0 / 6};
    const double z = r * r;
    double a = even[0], b = odd[0];
    for (int i = 1; i < 6; i++) {
        a = a * z + even[i];
        b = b * z + odd[i];
    }
    return scale(1 + (r + z * (a + r * b)), (int)k);
}

double shot_portable_log(double x) {
    if (isnan(x) || x < 0)
        return NAN;
    if (x == 0)
        return -INFINITY;
    if (isinf(x))
        return x;
    int exponent;
    double m = frexp(x, &exponent);
    if (m < 0.70710678118654752) {
        m *= 2;
        exponent--;
    }
    /* ln m = 2 artanh s with s = (m - 1)/(m + 1), |s| < 0.172; s^25/25 is below 1e-20. */
    const double f = m - 1;
    const double s = f / (m + 1);
    const double z = s * s;
    /* s^3/3 + s^5/5 + ... over s, again in two chains */
    static const double a[] = {1.0 / 23, 1.0 / 19, 1.0 / 15, 1.0 / 11, 1.0 / 7, 1.0 / 3};
    static const double b[] = {1.0 / 21, 1.0 / 17, 1.0 / 13, 1.0 / 9, 1.0 / 5};
    const double z2 = z * z;
    double even = a[0], odd = b[0];
    for (int i = 1; i < 6; i++)
        even = even * z2 + a[i];
    for (int i = 1; i < 5; i++)
        odd = odd * z2 + b[i];
    const double series = z * (even + z * odd);
    /* 2 s = f - s f, exact in its first term, keeps the digits of x near 1. */
    return exponent * LN2_HIGH + (f - (s * (f - 2 * series) - exponent * LN2_LOW));
}

double shot_portable_pow(double x, double y) {
    if (y == 0)
        return 1;
    if (x == 0)
        return y > 0 ? 0 : INFINITY;
    return shot_portable_exp(y * shot_portable_log(x));
}

/* Taylor polynomials for |a| <= pi/4: the first term left out is below 1e-18. */
static double sin_small(double a) {
    const double z = a * a;
    double series = 0;
    for (int n = 17; n >= 3; n -= 2)
        series = (1 + series) * -z / (n * (n - 1));
    return a + a * series;
}

static double cos_small(double a) {
    const double z = a * a;
    double series = 0;
    for (int n = 18; n >= 2; n -= 2)
        series = (1 + series) * -z / (n * (n - 1));
    return 1 + series;
}

double shot_portable_sin_turns(double x) {
    if (isnan(x) || isinf(x))
        return NAN;
    const double quarter = floor(4 * x + 0.5);
    const double a = (x - quarter / 4) * (2 * SHOT_PI);
    switch ((int)(quarter - 4 * floor(quarter / 4))) {
    case 0:
        return sin_small(a);
    case 1:
        return cos_small(a);
    case 2:
        return -sin_small(a);
    default:
        return -cos_small(a);
    }
}
