/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/gaussian_mean.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "signal/fourier.h"

/* Weights at distance 0 .. reach; so many on each side cost as much as transforms do. */
enum { NARROW = 100 };

static void sum_one_by_one(const double *x, size_t n, const double *weight, size_t reach,
                           double *out) {
    const ptrdiff_t count = (ptrdiff_t)n, most = (ptrdiff_t)reach;
    for (ptrdiff_t i = 0; i < count; i++) {
        const ptrdiff_t first = i < most ? -i : -most;
        const ptrdiff_t last = count - 1 - i < most ? count - 1 - i : most;
        out[i] = 0;
        for (ptrdiff_t k = first; k <= last; k++)
            out[i] += weight[k < 0 ? -k : k] * x[i + k];
    }
}

/* Put `count` numbers into f, 0 behind them, and transform. */
static void transform(const double *from, size_t count, fourier *f) {
    memcpy(f->x, from, count * sizeof *from);
    for (size_t i = count; i < f->n; i++)
        f->x[i] = 0;
    fourier_forward(f);
}

static shot_status sum_at_once(const double *x, size_t n, const double *weight, size_t reach,
                               double *out) {
    fourier samples, weights;
    const size_t length = fourier_good_length(n + reach + 1);
    SHOT_TRY(fourier_make(length, &samples));
    const shot_status status = fourier_make(length, &weights);
    if (status == SHOT_OK) {
        transform(x, n, &samples);
        transform(weight, reach + 1, &weights);
        /* one side of weights, the middle among them: both sides are twice the real part less it */
        for (size_t k = 0; k <= length / 2; k++)
            samples.bin[k] *= 2 * creal(weights.bin[k]) - weight[0];
        fourier_backward(&samples);
        memcpy(out, samples.x, n * sizeof *out);
        fourier_clear(&weights);
    }
    fourier_clear(&samples);
    return status;
}

/* Divide by the sum of the weights that had a sample. */
static void normalise(double *out, size_t n, double *weight, size_t reach) {
    for (size_t k = 1; k <= reach; k++)
        weight[k] += weight[k - 1]; /* of one side up to k */
    for (size_t i = 0; i < n; i++) {
        const size_t before = i, after = n - 1 - i;
        out[i] /= weight[before < reach ? before : reach] + weight[after < reach ? after : reach] -
                  weight[0];
    }
}

shot_status gaussian_mean(const double *x, size_t n, double width, double *out) {
    if (width == 0 || n < 2) {
        memcpy(out, x, n * sizeof *x);
        return SHOT_OK;
    }
    const size_t reach = (size_t)fmin(ceil(4 * width), (double)(n - 1));
    double *weight = malloc((reach + 1) * sizeof *weight);
    if (weight == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t k = 0; k <= reach; k++) {
        const double u = (double)k / width;
        weight[k] = exp(-u * u / 2);
    }
    shot_status status = SHOT_OK;
    if (reach <= NARROW)
        sum_one_by_one(x, n, weight, reach, out);
    else
        status = sum_at_once(x, n, weight, reach, out);
    if (status == SHOT_OK)
        normalise(out, n, weight, reach);
    free(weight);
    return status;
}
