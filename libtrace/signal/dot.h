/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sum of products, in an order of addition that is fixed (results must not depend on compiler
 * or block sizes) and leaves the processor four sums to work on at once. */
#ifndef SHOT_SIGNAL_DOT_H
#define SHOT_SIGNAL_DOT_H

#include <stddef.h>

#include "signal/wide.h"

static inline double dot(const double *a, const double *b, size_t n) {
    double sum[4] = {0, 0, 0, 0};
    size_t i = 0;
    for (; i + 4 <= n; i += 4) {
        sum[0] += a[i] * b[i];
        sum[1] += a[i + 1] * b[i + 1];
        sum[2] += a[i + 2] * b[i + 2];
        sum[3] += a[i + 3] * b[i + 3];
    }
    for (; i < n; i++)
        sum[0] += a[i] * b[i];
    return (sum[0] + sum[1]) + (sum[2] + sum[3]);
}

/* Into the four sums of one output. */
SHOT_INLINE void dot_add(double *restrict sum, const double *restrict a, const double *restrict b) {
#pragma omp simd
    for (size_t j = 0; j < 4; j++)
        sum[j] += a[j] * b[j];
}

/* Four of them with the same weights, for b, b + step, b + 2 step and b + 3 step: each the same sum
 * to the bit, but no addition has to wait for the one before it. */
SHOT_INLINE void dot_four(const double *restrict a, const double *restrict b, size_t step, size_t n,
                          double *restrict out) {
    double sum0[4] = {0}, sum1[4] = {0}, sum2[4] = {0}, sum3[4] = {0};
    double *const sum[4] = {sum0, sum1, sum2, sum3};
    size_t i = 0;
    for (; i + 4 <= n; i += 4) {
        dot_add(sum0, a + i, b + i);
        dot_add(sum1, a + i, b + step + i);
        dot_add(sum2, a + i, b + 2 * step + i);
        dot_add(sum3, a + i, b + 3 * step + i);
    }
    for (; i < n; i++)
        for (size_t k = 0; k < 4; k++)
            sum[k][0] += a[i] * b[k * step + i];
    for (size_t k = 0; k < 4; k++)
        out[k] = (sum[k][0] + sum[k][1]) + (sum[k][2] + sum[k][3]);
}

#endif
