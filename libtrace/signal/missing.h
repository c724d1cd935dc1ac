/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Missing samples, which are mostly none. */
#ifndef SHOT_SIGNAL_MISSING_H
#define SHOT_SIGNAL_MISSING_H

#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>

/* How many values are NaN, and whether any is, which takes half the time. */
size_t count_missing(const double *values, size_t n);
bool any_missing(const double *values, size_t n);

/* Whether none is NaN or infinite. */
bool all_finite(const double *values, size_t n);

/* Copy the samples of which none is missing; how many. */
static inline size_t copy_present(const double *restrict t, const double *restrict y, size_t n,
                                  double *restrict times, double *restrict values) {
    size_t count = 0;
    if (!any_missing(y, n)) {
        memcpy(times, t, n * sizeof *t);
        memcpy(values, y, n * sizeof *y);
        return n;
    }
    for (size_t i = 0; i < n; i++) { /* one that is missing is overwritten */
        times[count] = t[i];
        values[count] = y[i];
        count += !isnan(y[i]);
    }
    return count;
}

/* The samples of which none is missing; where all are there, they stay where they are. */
static inline size_t present_samples(const double **t, const double **y, size_t n, double *times,
                                     double *values) {
    if (!any_missing(*y, n))
        return n;
    const size_t count = copy_present(*t, *y, n, times, values);
    *t = times;
    *y = values;
    return count;
}

#endif
