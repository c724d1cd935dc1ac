/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sum of products, in an order of addition that is fixed (results must not depend on compiler
 * or block sizes) and leaves the processor four sums to work on at once. */
#ifndef SHOT_SIGNAL_DOT_H
#define SHOT_SIGNAL_DOT_H

#include <stddef.h>

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

#endif
