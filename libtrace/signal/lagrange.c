/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Local polynomial interpolation. */
#include <shottrace/signal/lagrange.h>

#include <math.h>

#include <shottrace/signal/monotone_cubic.h>
#include <shottrace/signal/sample_weights.h>

#include "signal/cursor.h"
#include "signal/intervals.h"

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

/* The weight of sample k in the polynomial through n samples, evaluated at `at`. */
static double weight_of(const double *t, size_t n, size_t k, double at) {
    double weight = 1;
    for (size_t j = 0; j < n; j++)
        if (j != k)
            weight *= (at - t[j]) / (t[k] - t[j]);
    return weight;
}

/* The polynomial through the n samples, evaluated at `at`. */
static double through(const double *t, const double *y, size_t n, double at) {
    double value = 0;
    for (size_t k = 0; k < n; k++)
        value += weight_of(t, n, k, at) * y[k];
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

static void weights_between(const double *t, const double *y, size_t n, size_t i, double at,
                            shot_sample_weights *out) {
    const size_t side = side_of(y, n, i), low = i + 1 - side;
    *out = (shot_sample_weights){0};
    if (side == 0)
        return;
    if (is_long(t, i, side)) {
        shot_monotone_cubic_weights(t + low, y + low, 2 * side, &at, 1, out);
        out->first += low;
        return;
    }
    *out = (shot_sample_weights){.first = low, .count = 2 * side};
    for (size_t k = 0; k < out->count; k++)
        out->weight[k] = weight_of(t + low, out->count, k, at);
}

shot_status shot_lagrange_weights(const double *t, const double *y, size_t n, const double *at,
                                  size_t m, shot_sample_weights *out) {
    if (!times_rise(t, n) || !times_do_not_fall(at, m))
        return SHOT_ERR_RANGE;
    size_t i = 0;
    for (size_t k = 0; k < m; k++) {
        out[k] = (shot_sample_weights){0};
        if (!cursor_seek(t, n, at[k], &i))
            continue;
        if (at[k] != t[i])
            weights_between(t, y, n, i, at[k], &out[k]);
        else if (!isnan(y[i]))
            out[k] = (shot_sample_weights){i, 1, {1}};
    }
    return SHOT_OK;
}
