/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How much correlated noise of its samples a fit lets through: from their weights. */
#include "signal/fit_noise.h"

#include <stdint.h>
#include <stdlib.h>

#include "signal/correlated_variance.h"

static shot_status make_room(fit_noise *noise, size_t n) {
    if (n <= noise->room)
        return SHOT_OK;
    const size_t room = n + n / 2;
    double *weights = room > SIZE_MAX / sizeof *weights ? NULL : malloc(room * sizeof *weights);
    if (weights == NULL)
        return SHOT_ERR_MEMORY;
    free(noise->weights);
    noise->weights = weights;
    noise->room = room;
    return SHOT_OK;
}

shot_status fit_noise_gain(fit_noise *noise, const shot_local_fit *fit, const double *t, size_t n,
                           double at, size_t derivative, double *gain) {
    SHOT_TRY(make_room(noise, n));
    shot_local_fit_weights(fit, at, derivative, noise->weights);
    *gain = correlated_variance_of(t, noise->weights, n, noise->correlation);
    return SHOT_OK;
}

void fit_noise_free(fit_noise *noise) {
    free(noise->weights);
    *noise = (fit_noise){0};
}
