/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Intervals between times. */
#include "intervals.h"

#include <math.h>
#include <stdint.h>

#include "wide.h"

static bool ends_are_finite(const double *t, size_t n) {
    return n == 0 || (isfinite(t[0]) && isfinite(t[n - 1]));
}

SHOT_WIDE bool times_rise(const double *t, size_t n) {
    int64_t bad = 0; /* as wide as what is compared */
#pragma omp simd reduction(+ : bad)
    for (size_t i = 1; i < n; i++)
        bad += t[i] > t[i - 1] ? 0 : 1;
    return bad == 0 && ends_are_finite(t, n);
}

SHOT_WIDE bool times_do_not_fall(const double *t, size_t n) {
    int64_t bad = 0;
#pragma omp simd reduction(+ : bad)
    for (size_t i = 1; i < n; i++)
        bad += t[i] >= t[i - 1] ? 0 : 1;
    return bad == 0 && ends_are_finite(t, n);
}

SHOT_WIDE void intervals_take(const double *t, size_t n, shot_intervals *all) {
    double shortest = all->shortest, longest = all->longest;
#pragma omp simd reduction(min : shortest) reduction(max : longest)
    for (size_t i = 1; i < n; i++) {
        shortest = lesser(t[i] - t[i - 1], shortest);
        longest = greater(t[i] - t[i - 1], longest);
    }
    *all = (shot_intervals){shortest, longest};
}

void intervals_take_one(double interval, shot_intervals *all) {
    all->shortest = lesser(interval, all->shortest);
    all->longest = greater(interval, all->longest);
}

shot_intervals intervals_between(const double *t, size_t n) {
    shot_intervals all = {INFINITY, 0};
    intervals_take(t, n, &all);
    return all;
}

double interval_tidied(double interval) {
    const double scale = pow(10, 8 - floor(log10(interval)));
    return round(interval * scale) / scale;
}
