/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Local polynomial interpolation. */
#include <shottrace/signal/lagrange.h>

#include <math.h>

#include <shottrace/signal/monotone_cubic.h>

#include "signal/cursor.h"

enum { SIDE = 4 }; /* samples on either side */

/* How many samples on either side of interval i there are, up to the first missing one. */
static size_t side_of(const double *y, size_t n, size_t i) {
    size_t side = 0;
    while (side < SIDE && side <= i && i + 1 + side < n && !isnan(y[i - side]) &&
           !isnan(y[i + 1 + side]))
        side++;
    return side;
}

static int is_long(const double *t, size_t i, size_t side) {
    const double here = t[i + 1] - t[i], all = t[i + side] - t[i + 1 - side];
    return side > 1 && here > 2 * (all - here) / (double)(2 * side - 2);
}

/* The polynomial through the n samples, evaluated at `at`. */
static double through(const double *t, const double *y, size_t n, double at) {
    double value = 0;
    for (size_t k = 0; k < n; k++) {
        double weight = 1;
        for (size_t j = 0; j < n; j++)
            if (j != k)
                weight *= (at - t[j]) / (t[k] - t[j]);
        value += weight * y[k];
    }
    return value;
}

static double between(const double *t, const double *y, size_t n, size_t i, double at) {
    const size_t side = side_of(y, n, i);
    double value = NAN;
    if (side == 0)
        return NAN;
    if (!is_long(t, i, side))
        return through(t + i + 1 - side, y + i + 1 - side, 2 * side, at);
    shot_monotone_cubic(t + i + 1 - side, y + i + 1 - side, 2 * side, &at, 1, &value);
    return value;
}

shot_status shot_lagrange(const double *t, const double *y, size_t n, const double *at, size_t m,
                          double *value) {
    if (!times_rise(t, n) || !times_do_not_fall(at, m))
        return SHOT_ERR_RANGE;
    size_t i = 0;
    for (size_t k = 0; k < m; k++) {
        if (!cursor_seek(t, n, at[k], &i))
            value[k] = NAN;
        else
            value[k] = at[k] == t[i] ? y[i] : between(t, y, n, i, at[k]);
    }
    return SHOT_OK;
}
