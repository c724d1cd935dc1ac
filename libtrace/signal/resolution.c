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

/* Are nine in ten of the changes up to `most` whole multiples of the step, to that part of it? */
static bool divides_changes(const double *y, size_t n, double step, double most, double part) {
    size_t multiples = 0, others = 0;
    double before = NAN;
    for (size_t i = 0; i < n; i++) {
        const double change = fabs(y[i] - before), steps = change / step;
        if (steps > 0.5 && change < most)
            fabs(steps - round(steps)) < part ? multiples++ : others++;
        if (!isnan(y[i]))
            before = y[i];
    }
    return multiples >= 9 * others;
}

/* The smallest change is the step if others are its multiples, roughly, since a step may be no
 * round number of the digits in which it is written; or a part of it is, exactly, where no two
 * values happened to lie one step apart.  In a smooth curve written with many digits it is neither:
 * 0. */
static double step_of_changes(const double *y, size_t n, double smallest) {
    static const double roughly = 1.0 / 7, exactly = 1e-6;
    const double most = 4.5 * smallest;
    if (divides_changes(y, n, smallest, most, roughly))
        return smallest;
    for (int parts = 2; parts <= 5; parts++)
        if (divides_changes(y, n, smallest / parts, most, exactly))
            return smallest / parts;
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
    const double step = all.count >= ENOUGH_CHANGES ? step_of_changes(y, n, all.smallest) : 0;
    if (step > 0)
        return step;
    return any_value(y, n) ? step_of_digits(y, n) : 0;
}
