/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "detect/rising_break.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/least_squares.h>
#include <shottrace/signal/normal.h>

#include "lack_of_memory.h"

enum { LEVEL, SLOPE, BEND, BREAK, COLUMNS };

static const double A_SIDE = 3.5; /* times between samples, at least */
static const double SURE = 30;    /* standard errors below 0: no digits are left beyond */

/* The quantile p of a normal law of mean `mean` and SD `se`, of which the part over 0 is left. */
static double quantile_over_0(double mean, double se, double p) {
    const double over = shot_normal_tail(fmin(SURE, -mean / se));
    return fmax(0, mean - se * shot_normal_quantile((1 - p) * over));
}

static void fill(const shot_channel_view *view, size_t begin, size_t n, double at, double *a) {
    for (size_t i = 0; i < n; i++) {
        const double u = view->t[begin + i] - at;
        a[LEVEL * n + i] = 1;
        a[SLOPE * n + i] = u;
        a[BEND * n + i] = u * u;
        a[BREAK * n + i] = fmax(u, 0);
    }
}

static void set(const double *x, double se, double level, shot_knee *out) {
    const double change = quantile_over_0(x[BREAK], se, 0.5);
    out->before = x[SLOPE] + 0.5 * (x[BREAK] - change);
    out->after = out->before + change;
    out->change_low = quantile_over_0(x[BREAK], se, 0.5 - level / 2);
    out->change_high = quantile_over_0(x[BREAK], se, 0.5 + level / 2);
}

shot_status shot_rising_break(const shot_channel_view *view, double reach, double level,
                              shot_knee *out) {
    const double half = fmax(reach, A_SIDE * view->noise.spacing);
    const size_t begin = shot_view_first(view, out->at - half);
    const size_t n = shot_view_first(view, nextafter(out->at + half, INFINITY)) - begin;
    const double noise = view->noise.sd * sqrt(view->noise.inflation);
    double x[COLUMNS], covariance[COLUMNS * COLUMNS];
    shot_least_squares summary;
    out->before = out->after = out->change_low = out->change_high = NAN;
    if (n <= COLUMNS)
        return SHOT_OK;
    double *a = malloc((COLUMNS * n + shot_least_squares_workspace(n, COLUMNS)) * sizeof *a);
    if (a == NULL)
        return SHOT_ERR_MEMORY;
    fill(view, begin, n, out->at, a);
    const shot_status status = shot_least_squares_fit(a, view->y + begin, n, COLUMNS,
                                                      a + COLUMNS * n, x, covariance, &summary);
    free(a);
    if (status == SHOT_OK) {
        const double own = sqrt(covariance[BREAK * COLUMNS + BREAK]);
        set(x, summary.sd > 0 ? own * fmax(1, noise / summary.sd) : 0, level, out);
    }
    return lack_of_memory_only(status);
}
