/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A polynomial with a level for each block. */
#include "signal/block_polynomial.h"

#include <stdlib.h>

/* The levels' columns, then those of the powers. */
static void fill_design(const double *x, const size_t *block, size_t blocks, size_t n,
                        size_t degree, double *design) {
    for (size_t i = 0; i < n; i++) {
        double power = 1;
        design[block[i] * n + i] = 1;
        for (size_t k = 0; k < degree; k++)
            design[(blocks + k) * n + i] = power *= x[i];
    }
}

/* One constant in the place of the levels: their mean over the values, and so in the covariance. */
static void average_levels(const double *all, const double *covariance, const size_t *block,
                           size_t blocks, size_t n, size_t degree, double *weight, double *b,
                           double *v) {
    const size_t columns = blocks + degree, terms = degree + 1;
    for (size_t i = 0; i < n; i++)
        weight[block[i]] += 1 / (double)n;
    for (size_t k = 0; k < terms * terms; k++)
        v[k] = 0;
    for (size_t k = 0; k < terms; k++)
        b[k] = 0;
    for (size_t i = 0; i < columns; i++) {
        const double here = i < blocks ? weight[i] : 1;
        const size_t to = i < blocks ? 0 : i - blocks + 1;
        b[to] += here * all[i];
        for (size_t k = 0; k < columns; k++)
            v[to * terms + (k < blocks ? 0 : k - blocks + 1)] +=
                here * (k < blocks ? weight[k] : 1) * covariance[i * columns + k];
    }
}

shot_status block_polynomial_fit(const double *x, const double *y, const size_t *block,
                                 size_t blocks, size_t n, size_t degree, double *b, double *v,
                                 shot_least_squares *fit) {
    const size_t columns = blocks + degree;
    if (n < columns)
        return SHOT_ERR_SINGULAR;
    double *design = calloc(n * columns + columns + columns * columns + blocks +
                                shot_least_squares_workspace(n, columns),
                            sizeof *design);
    if (design == NULL)
        return SHOT_ERR_MEMORY;
    double *all = design + n * columns, *covariance = all + columns;
    double *weight = covariance + columns * columns, *work = weight + blocks;
    fill_design(x, block, blocks, n, degree, design);
    const shot_status status =
        shot_least_squares_fit(design, y, n, columns, work, all, covariance, fit);
    if (status == SHOT_OK)
        average_levels(all, covariance, block, blocks, n, degree, weight, b, v);
    free(design);
    return status;
}
