/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The zero-phase low-pass as a kernel. */
#include "filter/lowpass_kernel.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include <shottrace/signal/butterworth.h>

#include "room.h"
#include "signal/correlated_variance.h"

typedef struct lowpass_kernel {
    size_t order;
    double cutoff;         /* Hz */
    bool errors;           /* gains are asked for */
    double correlation;    /* of the noise, s */
    double lag1;           /* ... of neighbours in this shot */
    shot_biquad *sections; /* owned */
    shot_rows samples;     /* t, y, gain */
    double *work;          /* owned [work_room] */
    size_t work_room;
    size_t given; /* results handed out */
    bool finished;
} lowpass_kernel;

static shot_status push(void *kernel, double t, double y) {
    const double row[3] = {t, y, NAN};
    return shot_rows_append_row(&((lowpass_kernel *)kernel)->samples, row);
}

/* The time between rows, if none differs from it by more than a thousandth; else 0, and in *at the
 * time of the first that does. */
static double even_step(const double *t, size_t n, double *at) {
    const double step = (t[n - 1] - t[0]) / (double)(n - 1);
    for (size_t i = 1; i < n; i++) {
        *at = t[i];
        if (fabs(t[i] - t[i - 1] - step) > 1e-3 * step)
            return 0;
    }
    return step;
}

static shot_status design(lowpass_kernel *self, shot_error *error) {
    const double *t = self->samples.column[0];
    double at;
    const double step = even_step(t, self->samples.rows, &at);
    if (step == 0)
        return shot_fail(error, SHOT_ERR_DATA,
                         "--method lowpass needs rows at even times, and those about %g s are not; "
                         "run shot-resample before, or use --method savgol",
                         at);
    if (!(self->cutoff * step < 0.5))
        return shot_fail(error, SHOT_ERR_DATA,
                         "--cutoff: %g Hz is not below half of the %g rows a second", self->cutoff,
                         1 / step);
    self->lag1 = correlated_share(step, self->correlation);
    const double cutoff = shot_butterworth_for_two_passes(self->order, self->cutoff * step);
    if (shot_butterworth_design(self->order, cutoff, self->sections) != SHOT_OK)
        return shot_fail(error, SHOT_ERR_DATA,
                         "--cutoff: %g Hz cannot be told from 0 at %g rows a "
                         "second",
                         self->cutoff, 1 / step);
    return SHOT_OK;
}

/* Rows low..high - 1 have values, more than three times the order of them; fewer say too little of
 * what the filter should remember, and become missing. */
static void filter_stretch(lowpass_kernel *self, size_t low, size_t high) {
    const size_t sections = SHOT_BUTTERWORTH_SECTIONS(self->order);
    double *y = self->samples.column[1], *gain = self->samples.column[2];
    if (high - low > 3 * self->order) {
        shot_butterworth_zero_phase(self->sections, sections, y + low, high - low, self->work);
        if (self->errors)
            shot_butterworth_gain(self->sections, sections, high - low, self->lag1, gain + low,
                                  self->work);
        return;
    }
    for (size_t i = low; i < high; i++)
        y[i] = NAN;
}

static shot_status make_room(lowpass_kernel *self) {
    const size_t sections = SHOT_BUTTERWORTH_SECTIONS(self->order);
    const size_t n = self->samples.rows, filtering = shot_butterworth_workspace(n, sections);
    const size_t weighing = shot_butterworth_gain_workspace(n, sections);
    const size_t wanted = filtering > weighing ? filtering : weighing;
    return room_to_work(&self->work, &self->work_room, wanted) ? SHOT_OK : SHOT_ERR_MEMORY;
}

static shot_status finish(void *kernel, shot_error *error) {
    lowpass_kernel *self = kernel;
    const size_t n = self->samples.rows;
    const double *y = self->samples.column[1];
    self->finished = true;
    if (n < 2)
        return SHOT_OK;
    SHOT_TRY(design(self, error));
    SHOT_TRY(make_room(self));
    for (size_t low = 0, high; low < n; low = high + 1) {
        for (high = low; high < n && !isnan(y[high]);)
            high++;
        filter_stretch(self, low, high);
    }
    return SHOT_OK;
}

static shot_status next(void *kernel, channel_result *result, bool *ready) {
    lowpass_kernel *self = kernel;
    *ready = self->finished && self->given < self->samples.rows;
    if (*ready) {
        const bool known = self->samples.rows >= 2;
        *result = (channel_result){known ? self->samples.column[1][self->given] : NAN,
                                   known ? self->samples.column[2][self->given] : NAN, 0};
        self->given++;
    }
    return SHOT_OK;
}

static void reset(void *kernel) {
    lowpass_kernel *self = kernel;
    shot_rows_clear(&self->samples);
    self->given = 0;
    self->finished = false;
}

static void correlate(void *kernel, double seconds) {
    ((lowpass_kernel *)kernel)->correlation = seconds;
}

static void release(void *kernel) {
    lowpass_kernel *self = kernel;
    shot_rows_free(&self->samples);
    free(self->sections);
    free(self->work);
    free(self);
}

static const channel_kernel_calls calls = {push, finish, next,      reset, release,
                                           NULL, NULL,   correlate, NULL,  NULL};

shot_status lowpass_kernel_new(size_t order, double cutoff, bool errors, channel_kernel *out) {
    lowpass_kernel *self = calloc(1, sizeof *self);
    if (self == NULL)
        return SHOT_ERR_MEMORY;
    self->order = order;
    self->cutoff = cutoff;
    self->errors = errors;
    self->sections = calloc(SHOT_BUTTERWORTH_SECTIONS(order), sizeof *self->sections);
    if (self->sections == NULL || shot_rows_init(&self->samples, 3) != SHOT_OK) {
        release(self);
        return SHOT_ERR_MEMORY;
    }
    *out = (channel_kernel){&calls, self};
    return SHOT_OK;
}
