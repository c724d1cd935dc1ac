/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The step in which figures are written. */
#include <shottrace/signal/resolution.h>

#include <math.h>
#include <stdbool.h>

#include "changes.h"

enum { ENOUGH_CHANGES = 10 };

static const double rounding = SHOT_CHANGES_ROUNDING;

/* The smallest change, and how many there are: stretch by stretch, and over what is missing. */
static shot_changes find_changes(const double *y, size_t n) {
    shot_changes all = {INFINITY, 0};
    double seam[2] = {NAN, NAN};
    for (size_t from = 0, to; from < n; from = to + 1) {
        for (to = from; to < n && !isnan(y[to]); to++) {
        }
        if (to == from)
            continue;
        seam[1] = y[from];
        shot_changes_take(seam, 2, &all);
        shot_changes_take(y + from, to - from, &all);
        seam[0] = y[to - 1];
    }
    return all;
}

static bool all_multiples(const double *y, size_t n, double step) {
    for (size_t i = 0; i < n; i++) {
        const double steps = y[i] / step;
        if (fabs(steps - round(steps)) > rounding * fmax(1, fabs(steps)))
            return false;
    }
    return true;
}

/* NaN compares false: missing values fit every step. */
static double step_of_digits(const double *y, size_t n) {
    static const double series[] = {1, 2, 4, 5};
    for (double decade = 1; decade <= 1e6; decade *= 10)
        for (size_t i = 0; i < sizeof series / sizeof *series; i++)
            if (all_multiples(y, n, 1 / (decade * series[i])))
                return 1 / (decade * series[i]);
    return 0;
}

static bool any_value(const double *y, size_t n) {
    for (size_t i = 0; i < n; i++)
        if (!isnan(y[i]))
            return true;
    return false;
}

double shot_resolution(const double *y, size_t n) {
    const shot_changes all = find_changes(y, n);
    if (all.count >= ENOUGH_CHANGES)
        return all.smallest;
    return any_value(y, n) ? step_of_digits(y, n) : 0;
}
