/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Missing samples, which are mostly none. */
#ifndef SHOT_SIGNAL_MISSING_H
#define SHOT_SIGNAL_MISSING_H

#include <math.h>

#include "signal/wide.h"

/* How many values are NaN. */
SHOT_WIDE static size_t count_missing(const double *values, size_t n) {
    size_t missing = 0;
    for (size_t i = 0; i < n; i++)
        missing += isnan(values[i]);
    return missing;
}

/* The samples of which none is missing; where all are there, they stay where they are. */
static inline size_t present_samples(const double **t, const double **y, size_t n, double *times,
                                     double *values) {
    if (count_missing(*y, n) == 0)
        return n;
    size_t count = 0;
    for (size_t i = 0; i < n; i++) {
        times[count] = (*t)[i];
        values[count] = (*y)[i];
        count += !isnan((*y)[i]);
    }
    *t = times;
    *y = values;
    return count;
}

#endif
