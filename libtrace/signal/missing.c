/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Missing samples.  A comparison tells of two numbers at once whether one is NaN: those of one half
 * are held against those of the other. */
#include "signal/missing.h"

#include "signal/wide.h"

SHOT_WIDE size_t count_missing(const double *values, size_t n) {
    size_t missing = 0;
    for (size_t i = 0; i < n; i++)
        missing += isnan(values[i]);
    return missing;
}

SHOT_WIDE bool any_missing(const double *values, size_t n) {
    const size_t half = n / 2;
    size_t missing = n % 2 == 1 && isnan(values[n - 1]);
    for (size_t i = 0; i < half; i++)
        missing += isunordered(values[i], values[half + i]);
    return missing > 0;
}

/* What is not finite less itself is NaN. */
SHOT_WIDE bool all_finite(const double *values, size_t n) {
    const size_t half = n / 2;
    size_t others = n % 2 == 1 && !isfinite(values[n - 1]);
    for (size_t i = 0; i < half; i++)
        others += isunordered(values[i] - values[i], values[half + i] - values[half + i]);
    return others == 0;
}
