/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Finite differences on any grid. */
#include <shottrace/signal/difference.h>

/* Fornberg 1988, section 4: the weights for the points 0..i from those for 0..i-1.  `ratio` is the
 * product of the distances of point i - 1 from those before it, over that of point i. */
static void add_point(const double *x, size_t n, size_t i, double at, size_t highest, double ratio,
                      double *weights) {
    const size_t top = i < highest ? i : highest;
    const double previous = x[i - 1] - at, here = x[i] - at;
    for (size_t k = top + 1; k-- > 0;) {
        const double lower = k > 0 ? (double)k * weights[(k - 1) * n + i - 1] : 0;
        weights[k * n + i] = ratio * (lower - previous * weights[k * n + i - 1]);
    }
    for (size_t j = 0; j < i; j++) {
        for (size_t k = top + 1; k-- > 0;) {
            const double lower = k > 0 ? (double)k * weights[(k - 1) * n + j] : 0;
            weights[k * n + j] = (here * weights[k * n + j] - lower) / (x[i] - x[j]);
        }
    }
}

shot_status shot_difference_weights(const double *x, size_t n, double at, size_t highest,
                                    double *weights) {
    if (n == 0)
        return SHOT_ERR_RANGE;
    for (size_t i = 0; i < (highest + 1) * n; i++)
        weights[i] = 0;
    weights[0] = 1;
    double spread = 1;
    for (size_t i = 1; i < n; i++) {
        double next = 1;
        for (size_t j = 0; j < i; j++)
            next *= x[i] - x[j];
        if (next == 0)
            return SHOT_ERR_SINGULAR;
        add_point(x, n, i, at, highest, spread / next, weights);
        spread = next;
    }
    return SHOT_OK;
}

/* The slope at t[at] of the parabola through three samples. */
static double parabola(const double *t, const double *y, size_t at) {
    const double left = (y[1] - y[0]) / (t[1] - t[0]), right = (y[2] - y[1]) / (t[2] - t[1]);
    const double bend = (right - left) / (t[2] - t[0]);
    return left + bend * ((t[at] - t[0]) + (t[at] - t[1]));
}

shot_status shot_difference_gradient(const double *t, const double *y, size_t n, int curved,
                                     double *slope) {
    if (n < (curved ? 3 : 2))
        return SHOT_ERR_RANGE;
    for (size_t i = 1; i < n; i++)
        if (!(t[i] > t[i - 1]))
            return SHOT_ERR_DATA;
    for (size_t i = 1; i + 1 < n; i++)
        slope[i] = parabola(t + i - 1, y + i - 1, 1);
    slope[0] = curved ? parabola(t, y, 0) : (y[1] - y[0]) / (t[1] - t[0]);
    slope[n - 1] =
        curved ? parabola(t + n - 3, y + n - 3, 2) : (y[n - 1] - y[n - 2]) / (t[n - 1] - t[n - 2]);
    return SHOT_OK;
}
