/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Savitzky-Golay weights: the local polynomial fit on whole numbers, and its frequency response. */
#include <shottrace/signal/savgol.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include <shottrace/signal/local_fit.h>

#include "dot.h"
#include "pi.h"

static const double HALF_POWER = 0.70710678118654752440; /* sqrt(1/2), -3 dB */

shot_status shot_savgol_weights(const shot_savgol *shape, double *weights) {
    const size_t n = shape->left + 1 + shape->right;
    if (shape->order >= n)
        return SHOT_ERR_RANGE;
    if (n > SIZE_MAX / 2 / sizeof(double))
        return SHOT_ERR_MEMORY;
    double *t = malloc(2 * n * sizeof *t);
    shot_local_fit *fit = NULL;
    shot_status status = t == NULL ? SHOT_ERR_MEMORY : shot_local_fit_new(shape->order, &fit);
    if (status == SHOT_OK) {
        for (size_t i = 0; i < n; i++) {
            t[i] = (double)i - (double)shape->left;
            t[n + i] = 0; /* the weights do not depend on the values */
        }
        const double middle = ((double)shape->right - (double)shape->left) / 2;
        status = shot_local_fit_set(fit, t, t + n, n, middle, 0);
    }
    if (status == SHOT_OK)
        shot_local_fit_weights(fit, shape->at, shape->derivative, weights);
    shot_local_fit_free(fit);
    free(t);
    return status;
}

double shot_savgol_gain(const double *weights, size_t n) {
    return dot(weights, weights, n);
}

/* The response of symmetric weights -half .. half, real since they are symmetric. */
static double response(const double *weights, size_t half, double frequency) {
    double sum = weights[half];
    for (size_t k = 1; k <= half; k++)
        sum += 2 * weights[half + k] * cos(2 * SHOT_PI * frequency * (double)k);
    return sum;
}

/* The first crossing of sqrt(1/2).  The response is a polynomial of degree `half` in cos(2 pi f):
 * its turning points are about 1 / (2 half) apart, so an eighth of that misses none. */
static shot_status first_crossing(const double *weights, size_t half, double *frequency) {
    const double step = 1 / (16.0 * (double)half);
    double low = 0, high = step;
    while (response(weights, half, high) > HALF_POWER) {
        low = high;
        high += step;
        if (low > 0.5)
            return SHOT_ERR_SINGULAR;
    }
    while (high - low > 1e-13 * high) {
        const double middle = (low + high) / 2;
        if (middle <= low || middle >= high)
            break;
        if (response(weights, half, middle) > HALF_POWER)
            low = middle;
        else
            high = middle;
    }
    *frequency = (low + high) / 2;
    return SHOT_OK;
}

shot_status shot_savgol_cutoff(size_t half, size_t order, double *frequency) {
    if (half == 0 || half > SIZE_MAX / 4 / sizeof(double) || order >= 2 * half)
        return SHOT_ERR_RANGE;
    const shot_savgol shape = {.left = half, .right = half, .order = order};
    double *weights = malloc((2 * half + 1) * sizeof *weights);
    if (weights == NULL)
        return SHOT_ERR_MEMORY;
    shot_status status = shot_savgol_weights(&shape, weights);
    if (status == SHOT_OK)
        status = first_crossing(weights, half, frequency);
    free(weights);
    return status;
}

/* The cut-off falls as the window grows: double the window until it lies below, then halve the
 * bracket low < half <= high. */
static shot_status bracket(double frequency, size_t order, size_t *low, size_t *high) {
    double cutoff;
    for (*high = *low; *high < SIZE_MAX / 4; *low = *high, *high *= 2) {
        SHOT_TRY(shot_savgol_cutoff(*high, order, &cutoff));
        if (cutoff <= frequency)
            break;
    }
    while (*high - *low > 1) {
        const size_t middle = *low + (*high - *low) / 2;
        SHOT_TRY(shot_savgol_cutoff(middle, order, &cutoff));
        *(cutoff <= frequency ? high : low) = middle;
    }
    return SHOT_OK;
}

/* In long windows the cut-off times the number of samples no longer changes, but for terms of the
 * order of 1 / samples^2: from LONG samples on either side on, of the 1e-7th part. */
enum { LONG = 2000 };
static const double LONG_BELOW = 0.01; /* no window so long cuts off above this */

/* The window of a frequency by that rule, 0 where it is shorter. */
static shot_status long_window(double frequency, size_t order, size_t *half) {
    static const double MOST = 0x1p50; /* longer than any record */
    double cutoff;
    *half = 0;
    if (!(frequency < LONG_BELOW) || order >= LONG)
        return SHOT_OK;
    SHOT_TRY(shot_savgol_cutoff(LONG, order, &cutoff));
    const double wanted = ((2 * LONG + 1) * cutoff / frequency - 1) / 2;
    if (wanted > LONG)
        *half = (size_t)round(fmin(wanted, fmin(MOST, (double)(SIZE_MAX / 4))));
    return SHOT_OK;
}

shot_status shot_savgol_window(double frequency, size_t order, size_t *half) {
    static const double TOO_HIGH = 1.25; /* neighbouring windows differ by up to 1.5 */
    if (!(frequency > 0 && frequency < 0.5))
        return SHOT_ERR_RANGE;
    size_t low = order / 2 + 1, high;
    double above, below;
    SHOT_TRY(shot_savgol_cutoff(low, order, &above));
    if (frequency > TOO_HIGH * above)
        return SHOT_ERR_RANGE;
    SHOT_TRY(long_window(frequency, order, half));
    if (*half > 0)
        return SHOT_OK;
    SHOT_TRY(bracket(frequency, order, &low, &high));
    SHOT_TRY(shot_savgol_cutoff(low, order, &above));
    SHOT_TRY(shot_savgol_cutoff(high, order, &below));
    *half = above / frequency < frequency / below ? low : high;
    return SHOT_OK;
}
