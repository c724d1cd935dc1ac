/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A running fit with the window of a cut-off. */
#include "filter/cutoff_kernel.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/savgol.h>

#include "filter/first_samples.h"

typedef struct cutoff_kernel {
    shot_running_fit_rule rule;
    double cutoff;         /* Hz */
    double spacing;        /* of this shot, once it is open, s */
    shot_running_fit *fit; /* owned; for rule.reach */
    first_samples first;   /* wait until the spacing is known */
    size_t lost;           /* results, NaN, of a shot whose spacing never showed or never fits */
    shot_error fault;      /* no window fits this shot; told at its end */
    bool open;             /* the fit takes the samples of this shot */
    double correlation;    /* of its noise, s */
} cutoff_kernel;

static shot_status choose_reach(const cutoff_kernel *self, shot_reach *out, shot_error *error) {
    const double spacing = first_samples_spacing(&self->first);
    size_t half;
    const shot_status status = shot_savgol_window(self->cutoff * spacing, self->rule.order, &half);
    if (status == SHOT_ERR_RANGE)
        return shot_fail(error, SHOT_ERR_DATA,
                         "--cutoff: no window of order %zu passes up to %g Hz at %g samples a "
                         "second; choose a lower frequency or a higher --order",
                         self->rule.order, self->cutoff, 1 / spacing);
    SHOT_TRY(status);
    *out = (shot_reach){(double)half * spacing, (double)half * spacing, false};
    return SHOT_OK;
}

/* The spacing is known, or will not be better known: let the fit have what waited. */
static shot_status open_fit(cutoff_kernel *self, shot_error *error) {
    shot_reach reach;
    SHOT_TRY(choose_reach(self, &reach, error));
    self->spacing = first_samples_spacing(&self->first);
    if (self->fit == NULL || reach.before != self->rule.reach.before) {
        shot_running_fit_free(self->fit);
        self->fit = NULL;
        self->rule.reach = reach;
        SHOT_TRY(shot_running_fit_new(&self->rule, &self->fit));
    }
    shot_running_fit_reset(self->fit);
    shot_running_fit_correlate(self->fit, self->correlation);
    const shot_rows *rows = &self->first.rows;
    for (size_t i = 0; i < rows->rows; i++)
        SHOT_TRY(shot_running_fit_push(self->fit, rows->column[0][i], rows->column[1][i]));
    first_samples_reset(&self->first);
    self->open = true;
    return SHOT_OK;
}

static shot_status try_fit(cutoff_kernel *self) {
    const shot_status status = open_fit(self, &self->fault);
    if (status != SHOT_ERR_DATA)
        return status;
    self->lost = self->first.rows.rows;
    return SHOT_OK;
}

static shot_status push(void *kernel, double t, double y) {
    cutoff_kernel *self = kernel;
    bool enough;
    if (self->open)
        return shot_running_fit_push(self->fit, t, y);
    if (self->fault.code != SHOT_OK) {
        self->lost++;
        return SHOT_OK;
    }
    SHOT_TRY(first_samples_push(&self->first, t, y, &enough));
    return enough ? try_fit(self) : SHOT_OK;
}

static shot_status finish(void *kernel, shot_error *error) {
    cutoff_kernel *self = kernel;
    if (!self->open && self->fault.code == SHOT_OK && self->first.count >= 2)
        SHOT_TRY(try_fit(self));
    if (self->fault.code != SHOT_OK)
        return shot_fail(error, self->fault.code, "%s", self->fault.what);
    if (self->open)
        shot_running_fit_finish(self->fit);
    else
        self->lost = self->first.rows.rows;
    return SHOT_OK;
}

static shot_status next(void *kernel, channel_result *result, bool *ready) {
    cutoff_kernel *self = kernel;
    shot_running_fit_at at = {.fitted = NAN, .gain = NAN};
    *ready = self->lost > 0;
    if (self->open)
        SHOT_TRY(shot_running_fit_next(self->fit, &at, ready));
    else
        self->lost -= *ready;
    if (*ready) {
        *result = (channel_result){at.fitted, at.gain, 0};
    }
    return SHOT_OK;
}

static void reset(void *kernel) {
    cutoff_kernel *self = kernel;
    first_samples_reset(&self->first);
    self->lost = 0;
    self->fault = (shot_error){0};
    self->open = false;
}

static void correlate(void *kernel, double seconds) {
    ((cutoff_kernel *)kernel)->correlation = seconds;
}

static void release(void *kernel) {
    cutoff_kernel *self = kernel;
    shot_running_fit_free(self->fit);
    first_samples_free(&self->first);
    free(self);
}

/* Steps on either side of a window whose response is worth a look. */
enum { MOST_STEPS = 5000 };

/* Windows have whole samples on either side, so that the frequency is the nearest that there is. */
static shot_status describe(const void *kernel, shot_text *words) {
    const cutoff_kernel *self = kernel;
    double frequency;
    const double steps = self->open ? self->rule.reach.before / self->spacing + 0.5 : 0;
    if (!(steps >= 1 && steps < MOST_STEPS)) /* of so long a window the cut-off is what was asked */
        return SHOT_OK;
    const size_t half = (size_t)steps;
    SHOT_TRY(shot_savgol_cutoff(half, self->rule.order, &frequency));
    return shot_text_add_format(words,
                                "a window of %zu samples at %.4g a second: half of the power "
                                "passes at %.4g Hz",
                                2 * half + 1, 1 / self->spacing, frequency / self->spacing);
}

static const channel_kernel_calls calls = {push, finish, next,      reset,    release,
                                           NULL, NULL,   correlate, describe, NULL};

shot_status cutoff_kernel_new(const shot_running_fit_rule *rule, double cutoff,
                              channel_kernel *out) {
    cutoff_kernel *self = calloc(1, sizeof *self);
    if (self == NULL)
        return SHOT_ERR_MEMORY;
    self->rule = *rule;
    self->cutoff = cutoff;
    if (first_samples_init(&self->first) != SHOT_OK) {
        release(self);
        return SHOT_ERR_MEMORY;
    }
    *out = (channel_kernel){&calls, self};
    return SHOT_OK;
}
