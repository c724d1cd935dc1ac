/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The noise of the channels that shot-resample brings to its grid, and their standard errors. */
#include <math.h>
#include <string.h>

#include <shottrace/trace/noise_line.h>

#include "filter/error_basis.h"
#include "filter/resample_parts.h"
#include "filter/standard_errors.h"

/* What a machine was asked for has no noise. */
static bool has_untold_noise(const shot_head *head, const char *name) {
    shot_noise_line told;
    return strncmp(name, "wanted.", 7) != 0 && !shot_noise_line_find(head, name, &told);
}

static void correlate(resampler *self, size_t c) {
    self->channels[c].run.gain.correlation = self->errors[c].is.correlation;
}

void resample_choose_errors(resampler *self) {
    const struct resample_settings *settings = self->stage.settings;
    self->wait = false;
    for (size_t c = 0; c < self->count; c++) {
        const char *name = self->head.channels[c + 1].name;
        wanted_errors *one = &self->errors[c];
        *one = (wanted_errors){.is = {NAN, 0}};
        shot_noise_line_find(&self->head, name, &one->is);
        one->watched = has_untold_noise(&self->head, name);
        correlate(self, c);
        if (!settings->errors || !shot_channel_is_measured(name))
            continue;
        one->fault = error_basis_fault(&self->head, name);
        one->wanted = one->fault == NULL;
        self->wait = self->wait || (one->wanted && isnan(one->is.sd));
    }
}

static shot_status tell_what_was(resampler *self, shot_error *error) {
    for (size_t c = 0; c < self->count; c++) {
        const char *name = self->head.channels[c + 1].name;
        shot_noise found;
        if (!self->errors[c].watched || !has_untold_noise(&self->head, name) ||
            !noise_watch_estimate(&self->noise[c], &found))
            continue;
        const shot_noise_line told = {found.sd, found.correlation};
        SHOT_TRY(shot_noise_line_say(self->stage.next, name, &told, error));
    }
    return SHOT_OK;
}

shot_status resample_watch(resampler *self, size_t channel, const double *t, const double *y,
                           size_t n) {
    return self->errors[channel].watched ? noise_watch_push(&self->noise[channel], t, y, n)
                                         : SHOT_OK;
}

shot_status resample_learn_noise(resampler *self) {
    const shot_rows *held = &self->held;
    shot_noise found;
    self->wait = false;
    for (size_t c = 0; c < self->count; c++) {
        wanted_errors *one = &self->errors[c];
        SHOT_TRY(resample_watch(self, c, held->column[0], held->column[c + 1], held->rows));
        if (one->wanted && isnan(one->is.sd) && noise_watch_estimate(&self->noise[c], &found))
            one->is = standard_errors_found(&found);
        correlate(self, c);
    }
    return SHOT_OK;
}

/* Why there are no errors where they were asked for. */
static shot_status tell_no_errors(resampler *self, shot_error *error) {
    shot_sink *next = self->stage.next;
    for (size_t c = 0; c < self->count; c++) {
        const char *name = self->head.channels[c + 1].name;
        const wanted_errors *one = &self->errors[c];
        if (one->fault != NULL)
            SHOT_TRY(standard_errors_say_fault(next, "resample", name, one->fault, error));
        if (one->wanted && isnan(one->is.sd))
            SHOT_TRY(standard_errors_say_unknown(next, "resample", name, error));
    }
    return SHOT_OK;
}

shot_status resample_tell_noise(resampler *self, shot_error *error) {
    SHOT_TRY(tell_what_was(self, error));
    return tell_no_errors(self, error);
}
