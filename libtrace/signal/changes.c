/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Changes from one value to the next. */
#include "changes.h"

#include <math.h>

#include "wide.h"

SHOT_WIDE void changes_take(const double *y, size_t n, shot_changes *all) {
    double smallest = all->smallest, count = all->count;
    const double lowest = all->least;
#pragma omp simd reduction(min : smallest) reduction(+ : count)
    for (size_t i = 1; i < n; i++) {
        const double change = fabs(y[i] - y[i - 1]);
        const double size = greater(fabs(y[i]), fabs(y[i - 1]));
        const double least = greater(SHOT_CHANGES_ROUNDING * size, lowest);
        count += change > least ? 1 : 0;
        smallest = lesser(change > least ? change : INFINITY, smallest);
    }
    all->smallest = smallest;
    all->count = count;
}

SHOT_WIDE void changes_divide(const double *y, size_t n, const shot_divisor *by,
                              shot_multiples *all) {
    const double per = 1 / by->step, most = by->most, part = by->part;
    double multiples = all->multiples, others = all->others;
#pragma omp simd reduction(+ : multiples, others)
    for (size_t i = 1; i < n; i++) {
        const double change = fabs(y[i] - y[i - 1]), steps = change * per;
        const double off = fabs(steps - floor(steps + 0.5));
        const double counts = steps > 0.5 ? (change < most ? 1 : 0) : 0;
        multiples += off < part ? counts : 0;
        others += off < part ? 0 : counts;
    }
    *all = (shot_multiples){multiples, others};
}

SHOT_WIDE size_t values_off(const double *y, size_t n, double step) {
    int64_t off = 0;
#pragma omp simd reduction(+ : off)
    for (size_t i = 0; i < n; i++) {
        const double steps = y[i] / step, size = greater(fabs(steps), 1);
        off += fabs(steps - rint(steps)) > SHOT_CHANGES_ROUNDING * size ? 1 : 0;
    }
    return (size_t)off;
}

SHOT_WIDE void changes_share(const double *y, size_t n, double step, shot_multiples *all) {
    const double per = 1 / step;
    double multiples = 0, changes = 0;
#pragma omp simd reduction(+ : multiples, changes)
    for (size_t i = 1; i < n; i++) {
        const double change = fabs(y[i] - y[i - 1]), steps = change * per;
        const double size = greater(fabs(y[i]), fabs(y[i - 1]));
        const double counts = change > SHOT_CHANGES_ROUNDING * size ? 1 : 0;
        const double off = fabs(steps - floor(steps + 0.5));
        const double multiple = steps > 0.5 ? counts : 0;
        changes += counts;
        multiples += off < 1e-6 ? multiple : 0;
    }
    all->multiples += multiples;
    all->others += changes - multiples;
}
