/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How large values are, whatever their sign. */
#include "signal/magnitude.h"

#include <math.h>

#include "signal/wide.h"

SHOT_WIDE double largest_magnitude(const double *y, size_t n) {
    double most = 0;
#pragma omp simd reduction(max : most)
    for (size_t i = 0; i < n; i++)
        most = greater(fabs(y[i]), most); /* false for NaN: the one before stays */
    return most;
}
