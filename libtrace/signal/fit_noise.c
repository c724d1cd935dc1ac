/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How much correlated noise of its samples a fit lets through: from their weights. */
#include "signal/fit_noise.h"

#include <stdlib.h>

#include "room.h"
#include "signal/correlated_variance.h"

shot_status fit_noise_gain(fit_noise *noise, const shot_local_fit *fit, const double *t, size_t n,
                           double at, size_t derivative, double *gain) {
    if (!room_to_work(&noise->weights, &noise->room, n))
        return SHOT_ERR_MEMORY;
    shot_local_fit_weights(fit, at, derivative, noise->weights);
    *gain = correlated_variance_of(t, noise->weights, n, noise->correlation);
    return SHOT_OK;
}

void fit_noise_free(fit_noise *noise) {
    free(noise->weights);
    *noise = (fit_noise){0};
}
