/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers as fractions. */
#include <shottrace/signal/fraction.h>

#include <math.h>

shot_fraction shot_fraction_of(double x, uint64_t limit) {
    /* p1 / q1 is the convergent so far, p0 / q0 the one before it. */
    double rest = x, p0 = 0, p1 = 1, q0 = 1, q1 = 0;
    if (!(x > 0) || isinf(x))
        return (shot_fraction){0, 0};
    for (;;) {
        const double whole = floor(rest);
        const double p = whole * p1 + p0, q = whole * q1 + q0;
        if (!(q <= (double)limit) || !(p < 1e9))
            return (shot_fraction){0, 0};
        if (p > 0 && fabs(p - x * q) <= 1e-15 * p)
            return (shot_fraction){(uint64_t)p, (uint64_t)q};
        p0 = p1, q0 = q1, p1 = p, q1 = q;
        rest = 1 / (rest - whole);
    }
}
