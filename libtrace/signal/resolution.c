/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The step in which figures are written. */
#include <shottrace/signal/resolution.h>

#include <math.h>
#include <stdbool.h>

enum { ENOUGH_CHANGES = 10 };

/* Rounding of decimals and of sums of them, relative to the values. */
static const double rounding = 1e-9;

/* The smallest change, and in *changes how many there are. */
static double smallest_change(const double *y, size_t n, size_t *changes) {
    double smallest = INFINITY, last = NAN;
    *changes = 0;
    for (size_t i = 0; i < n; i++) {
        if (isnan(y[i]))
            continue;
        const double change = fabs(y[i] - last);
        if (change > rounding * fmax(fabs(y[i]), fabs(last))) {
            smallest = fmin(smallest, change);
            ++*changes;
        }
        last = y[i];
    }
    return smallest;
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
    size_t changes;
    const double smallest = smallest_change(y, n, &changes);
    if (changes >= ENOUGH_CHANGES)
        return smallest;
    return any_value(y, n) ? step_of_digits(y, n) : 0;
}
