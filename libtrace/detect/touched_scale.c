/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A weight as if nobody had touched the scale, and until when it can be believed. */
#include "detect/touched_scale.h"

#include <math.h>
#include <stdlib.h>

#include "puck/scale_leaps.h"

static shot_status samples_of(const shot_channel_view *weight, scale_samples *out) {
    double *work = malloc((shot_noise_workspace(weight->n) + 1) * sizeof *work);
    if (work == NULL)
        return SHOT_ERR_MEMORY;
    scale_samples_take(weight->t, weight->y, weight->n, weight->step, &weight->noise, work, out);
    free(work);
    return SHOT_OK;
}

shot_status shot_view_untouch(shot_channel_view *weight) {
    scale_samples scale;
    if (weight->n == 0)
        return SHOT_OK;
    SHOT_TRY(samples_of(weight, &scale));
    weight->n = scale_join(&scale, weight->t, weight->y);
    return SHOT_OK;
}

shot_status shot_view_hangs_from(const shot_channel_view *weight, double until, double *out) {
    scale_samples scale;
    *out = INFINITY;
    if (weight->n == 0)
        return SHOT_OK;
    SHOT_TRY(samples_of(weight, &scale));
    const size_t i = scale_hangs(&scale, until);
    *out = i < weight->n ? weight->t[i] : INFINITY;
    return SHOT_OK;
}
