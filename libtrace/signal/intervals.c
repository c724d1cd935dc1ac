/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Intervals between times. */
#include "intervals.h"

#include <math.h>

#include "wide.h"

SHOT_WIDE void intervals_take(const double *t, size_t n, intervals *all) {
    double shortest = all->shortest, longest = all->longest;
#pragma omp simd reduction(min : shortest) reduction(max : longest)
    for (size_t i = 1; i < n; i++) {
        shortest = lesser(t[i] - t[i - 1], shortest);
        longest = greater(t[i] - t[i - 1], longest);
    }
    *all = (intervals){shortest, longest};
}

double interval_tidied(double interval) {
    const double scale = pow(10, 8 - floor(log10(interval)));
    return round(interval * scale) / scale;
}
