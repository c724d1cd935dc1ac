/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The running integral as a kernel.  Where gaps are told by the channel's spacing the first samples
 * wait until it is known. */
#include "filter/integral_kernel.h"

#include <math.h>
#include <stdlib.h>

#include "filter/first_samples.h"

typedef struct integral_kernel {
    shot_integral_rule rule;
    shot_span longest;
    shot_integral *integral; /* owned; NULL while the first samples of a shot wait */
    first_samples first;
} integral_kernel;

static shot_status open_integral(integral_kernel *self) {
    const double spacing = first_samples_spacing(&self->first);
    self->rule.longest = self->longest.length == 0 ? INFINITY
                         : !self->longest.samples  ? self->longest.length
                         : isnan(spacing)          ? INFINITY
                                                   : self->longest.length * spacing * (1 + 1e-9);
    SHOT_TRY(shot_integral_new(&self->rule, &self->integral));
    const shot_rows *rows = &self->first.rows;
    for (size_t i = 0; i < rows->rows; i++)
        SHOT_TRY(shot_integral_push(self->integral, rows->column[0][i], rows->column[1][i]));
    first_samples_reset(&self->first);
    return SHOT_OK;
}

static shot_status push(void *kernel, double t, double y) {
    integral_kernel *self = kernel;
    bool enough;
    if (self->integral != NULL)
        return shot_integral_push(self->integral, t, y);
    SHOT_TRY(first_samples_push(&self->first, t, y, &enough));
    return enough || !self->longest.samples ? open_integral(self) : SHOT_OK;
}

static shot_status finish(void *kernel, shot_error *error) {
    integral_kernel *self = kernel;
    if (self->integral == NULL)
        SHOT_TRY(open_integral(self));
    shot_integral_finish(self->integral);
    return SHOT_OK;
}

static shot_status next(void *kernel, channel_result *result, bool *ready) {
    integral_kernel *self = kernel;
    shot_integral_at at;
    *ready = self->integral != NULL && shot_integral_next(self->integral, &at);
    if (*ready)
        *result = (channel_result){at.value, at.gain, at.gap};
    return SHOT_OK;
}

static void reset(void *kernel) {
    integral_kernel *self = kernel;
    shot_integral_free(self->integral);
    self->integral = NULL;
    first_samples_reset(&self->first);
}

static void correlate(void *kernel, double seconds) {
    ((integral_kernel *)kernel)->rule.correlation = seconds;
}

static void release(void *kernel) {
    integral_kernel *self = kernel;
    shot_integral_free(self->integral);
    first_samples_free(&self->first);
    free(self);
}

static const channel_kernel_calls calls = {push, finish, next,      reset, release,
                                           NULL, NULL,   correlate, NULL,  NULL};

shot_status integral_kernel_new(const shot_integral_rule *rule, const shot_span *longest,
                                channel_kernel *out) {
    integral_kernel *self = calloc(1, sizeof *self);
    if (self == NULL)
        return SHOT_ERR_MEMORY;
    self->rule = *rule;
    self->longest = *longest;
    if (first_samples_init(&self->first) != SHOT_OK) {
        release(self);
        return SHOT_ERR_MEMORY;
    }
    *out = (channel_kernel){&calls, self};
    return SHOT_OK;
}
