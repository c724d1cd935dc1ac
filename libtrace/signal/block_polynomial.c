/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A polynomial with a level for each block: the powers and the values about the means of their
 * blocks, so that many blocks take no longer than one. */
#include "signal/block_polynomial.h"

#include <math.h>
#include <stdlib.h>

#include "signal/block_centre.h"

static double mean_of(const double *v, size_t n) {
    double mean = 0;
    for (size_t i = 0; i < n; i++)
        mean += (v[i] - mean) / (double)(i + 1);
    return mean;
}

/* Columns of the powers. */
static void fill_powers(const double *x, size_t n, size_t degree, double *design) {
    for (size_t k = 0; k < degree; k++)
        for (size_t i = 0; i < n; i++)
            design[k * n + i] = k == 0 ? x[i] : design[(k - 1) * n + i] * x[i];
}

/* The fit knows nothing of the levels, which take a degree of freedom each. */
static void count_levels(size_t blocks, size_t degree, double *covariance,
                         shot_least_squares *fit) {
    const size_t freedom = fit->freedom - blocks;
    const double more = freedom > 0 ? (double)fit->freedom / (double)freedom : NAN;
    for (size_t k = 0; k < degree * degree; k++)
        covariance[k] *= more;
    fit->freedom = freedom;
    fit->sd *= sqrt(more);
}

/* The constant is the mean of y less what the powers give at theirs; the mean of y and the
 * coefficients of centred powers are not correlated. */
static void add_constant(const double *powers, double y, size_t n, size_t degree,
                         const double *slope, const double *covariance, double sd, double *b,
                         double *v) {
    const size_t terms = degree + 1;
    b[0] = y;
    v[0] = sd * sd / (double)n;
    for (size_t k = 0; k < degree; k++) {
        b[k + 1] = slope[k];
        b[0] -= slope[k] * powers[k];
        double with_constant = 0;
        for (size_t j = 0; j < degree; j++) {
            v[(k + 1) * terms + j + 1] = covariance[k * degree + j];
            with_constant -= covariance[k * degree + j] * powers[j];
        }
        v[k + 1] = v[(k + 1) * terms] = with_constant;
        v[0] -= with_constant * powers[k];
    }
}

shot_status block_polynomial_fit(const double *x, const double *y, const size_t *block,
                                 size_t blocks, size_t n, size_t degree, double *b, double *v,
                                 shot_least_squares *fit) {
    if (n < blocks + degree)
        return SHOT_ERR_SINGULAR;
    double *room = malloc((n * (degree + 1) + degree * (degree + 2) + 2 * blocks +
                           shot_least_squares_workspace(n, degree)) *
                          sizeof *room);
    if (room == NULL)
        return SHOT_ERR_MEMORY;
    double *value = room + n * degree, *power = value + n, *slope = power + degree;
    double *covariance = slope + degree, *mean = covariance + degree * degree;
    double *count = mean + blocks, *work = count + blocks;
    fill_powers(x, n, degree, room);
    for (size_t k = 0; k < degree; k++) {
        power[k] = mean_of(room + k * n, n);
        centre_in_blocks(room + k * n, block, blocks, n, mean, count);
    }
    for (size_t i = 0; i < n; i++)
        value[i] = y[i];
    centre_in_blocks(value, block, blocks, n, mean, count);
    const shot_status status =
        shot_least_squares_fit(room, value, n, degree, work, slope, covariance, fit);
    if (status == SHOT_OK) {
        count_levels(blocks, degree, covariance, fit);
        add_constant(power, mean_of(y, n), n, degree, slope, covariance, fit->sd, b, v);
    }
    free(room);
    return status;
}
