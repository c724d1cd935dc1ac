/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Elementary functions by argument reduction and Taylor or arc-tanh series, as in
 * Muller 2016, 'Elementary Functions: Algorithms and Implementation', 3rd ed., chapters 9-11.
 * ldexp, frexp and floor are exact by definition and may be the C library's. */
#include <shottrace/signal/portable.h>

#include <math.h>
#include <stdint.h>
#include <string.h>

#include "signal/pi.h"
#include "signal/portable_series.h"

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
    const double k = portable_exp_turns(x);
    return scale(portable_exp_rest(x, k), (int)k);
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
    if (m < PORTABLE_LOG_LEAST) {
        m *= 2;
        exponent--;
    }
    return portable_log_of(m, exponent);
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
