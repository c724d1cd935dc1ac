/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Counting values under a limit, several side by side. */
#include "signal/count_below.h"

#include <stdint.h>

#include "signal/wide.h"

enum { LANES = 8 };

/* A vector of comparisons holds whole numbers, as wide as what is compared. */
SHOT_WIDE double count_below(const double *x, size_t n, double limit) {
    int64_t below[LANES] = {0}, all = 0;
    size_t i = 0;
    for (; i + LANES <= n; i += LANES)
#pragma omp simd
        for (size_t l = 0; l < LANES; l++)
            below[l] += x[i + l] < limit ? 1 : 0;
    for (size_t l = 0; i + l < n; l++)
        below[l] += x[i + l] < limit ? 1 : 0;
#pragma omp simd reduction(+ : all)
    for (size_t l = 0; l < LANES; l++)
        all += below[l];
    return (double)all;
}
