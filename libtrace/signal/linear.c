/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Piecewise linear interpolation. */
#include <shottrace/signal/linear.h>

#include <math.h>
#include <stdbool.h>

#include <shottrace/signal/sample_weights.h>

#include "signal/cursor.h"
#include "signal/intervals.h"

/* Written from the nearer end, so that the line stays inside its two samples and meets both. */
static double on_line(double t0, double y0, double t1, double y1, double t) {
    const double part = (t - t0) / (t1 - t0);
    return part < 0.5 ? y0 + part * (y1 - y0) : y1 - (t1 - t) / (t1 - t0) * (y1 - y0);
}

shot_status shot_linear(const double *t, const double *y, size_t n, const double *at, size_t m,
                        double *value) {
    if (!times_rise(t, n) || !times_do_not_fall(at, m))
        return SHOT_ERR_RANGE;
    size_t i = 0;
    for (size_t k = 0; k < m; k++) {
        if (!cursor_seek(t, n, at[k], &i))
            value[k] = NAN;
        else if (at[k] == t[i])
            value[k] = y[i];
        else
            value[k] = on_line(t[i], y[i], t[i + 1], y[i + 1], at[k]);
    }
    return SHOT_OK;
}

shot_status shot_linear_weights(const double *t, const double *y, size_t n, const double *at,
                                size_t m, shot_sample_weights *out) {
    if (!times_rise(t, n) || !times_do_not_fall(at, m))
        return SHOT_ERR_RANGE;
    size_t i = 0;
    for (size_t k = 0; k < m; k++) {
        out[k] = (shot_sample_weights){0};
        if (!cursor_seek(t, n, at[k], &i))
            continue;
        const bool inside = at[k] != t[i];
        const double part = inside ? (at[k] - t[i]) / (t[i + 1] - t[i]) : 0;
        if (!isnan(y[i]) && !(inside && isnan(y[i + 1])))
            out[k] = (shot_sample_weights){i, inside ? 2 : 1, {1 - part, part}};
    }
    return SHOT_OK;
}
