/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Changes from one value to the next. */
#include "changes.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>

#include "wide.h"

SHOT_WIDE void changes_take(const double *y, size_t n, shot_changes *all) {
    double smallest = all->smallest;
    int64_t count = 0; /* as wide as what is compared */
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
    all->count += (double)count;
}

SHOT_WIDE double changes_between(const double *y, size_t n, double low, double high) {
    int64_t count = 0;
#pragma omp simd reduction(+ : count)
    for (size_t i = 1; i < n; i++) {
        const double change = fabs(y[i] - y[i - 1]);
        count += (change >= low) & (change < high) ? 1 : 0;
    }
    return (double)count;
}

SHOT_WIDE void changes_divide(const double *y, size_t n, const shot_divisor *by,
                              shot_multiples *all) {
    const double per = 1 / by->step, most = by->most, part = by->part;
    int64_t multiples = 0, all_of_them = 0;
#pragma omp simd reduction(+ : multiples, all_of_them)
    for (size_t i = 1; i < n; i++) {
        const double change = fabs(y[i] - y[i - 1]), steps = change * per;
        const double off = fabs(steps - floor(steps + 0.5));
        const bool counts = (steps > 0.5) & (change < most);
        all_of_them += counts ? 1 : 0;
        multiples += counts & (off < part) ? 1 : 0;
    }
    all->multiples += (double)multiples;
    all->others += (double)(all_of_them - multiples);
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
    int64_t multiples = 0, changes = 0;
#pragma omp simd reduction(+ : multiples, changes)
    for (size_t i = 1; i < n; i++) {
        const double change = fabs(y[i] - y[i - 1]), steps = change * per;
        const double size = greater(fabs(y[i]), fabs(y[i - 1]));
        const bool counts = change > SHOT_CHANGES_ROUNDING * size;
        const double off = fabs(steps - floor(steps + 0.5));
        changes += counts ? 1 : 0;
        multiples += counts & (steps > 0.5) & (off < 1e-6) ? 1 : 0;
    }
    all->multiples += (double)multiples;
    all->others += (double)(changes - multiples);
}
