/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The running median as a kernel. */
#include "filter/median_kernel.h"

#include <math.h>
#include <stdlib.h>

typedef struct median_kernel {
    shot_running_median *running;
    bool fill;
} median_kernel;

static shot_status push(void *kernel, double t, double y) {
    return shot_running_median_push(((median_kernel *)kernel)->running, t, y);
}

static shot_status finish(void *kernel, shot_error *error) {
    shot_running_median_finish(((median_kernel *)kernel)->running);
    return SHOT_OK;
}

static shot_status next(void *kernel, channel_result *result, bool *ready) {
    const median_kernel *self = kernel;
    shot_median_at at;
    SHOT_TRY(shot_running_median_next(self->running, &at, ready));
    if (*ready) {
        *result = (channel_result){isnan(at.value) && !self->fill ? NAN : at.median, NAN, 0};
    }
    return SHOT_OK;
}

static void reset(void *kernel) {
    shot_running_median_reset(((median_kernel *)kernel)->running);
}

static void release(void *kernel) {
    shot_running_median_free(((median_kernel *)kernel)->running);
    free(kernel);
}

static const channel_kernel_calls calls = {
    .push = push, .finish = finish, .next = next, .reset = reset, .free = release};

shot_status median_kernel_new(shot_reach reach, bool fill, channel_kernel *out) {
    median_kernel *self = malloc(sizeof *self);
    if (self == NULL)
        return SHOT_ERR_MEMORY;
    self->fill = fill;
    const shot_status status = shot_running_median_new(
        reach, fill ? SHOT_MISSING_SERVED : SHOT_MISSING_SKIPPED, false, &self->running);
    if (status != SHOT_OK) {
        free(self);
        return status;
    }
    *out = (channel_kernel){&calls, self};
    return SHOT_OK;
}
