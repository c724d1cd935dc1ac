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

void resample_choose_errors(resampler *self) {
    const struct resample_settings *settings = self->stage.settings;
    self->wait = false;
    for (size_t c = 0; c < self->count; c++) {
        const char *name = self->head.channels[c + 1].name;
        wanted_errors *one = &self->errors[c];
        *one = (wanted_errors){.sd = standard_errors_told(&self->head, name)};
        one->watched = has_untold_noise(&self->head, name);
        if (!settings->errors || !shot_channel_is_measured(name))
            continue;
        one->fault = error_basis_fault(&self->head, name);
        one->wanted = one->fault == NULL;
        one->watched = one->watched || (one->wanted && isnan(one->sd));
        self->wait = self->wait || (one->wanted && isnan(one->sd));
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

void resample_learn_noise(resampler *self) {
    shot_noise found;
    self->wait = false;
    for (size_t c = 0; c < self->count; c++)
        if (self->errors[c].wanted && isnan(self->errors[c].sd) &&
            noise_watch_estimate(&self->noise[c], &found))
            self->errors[c].sd =
                standard_errors_by(&self->head, self->head.channels[c + 1].name, &found);
}

/* Why there are no errors where they were asked for. */
static shot_status tell_no_errors(resampler *self, shot_error *error) {
    shot_sink *next = self->stage.next;
    for (size_t c = 0; c < self->count; c++) {
        const char *name = self->head.channels[c + 1].name;
        const wanted_errors *one = &self->errors[c];
        if (one->fault != NULL)
            SHOT_TRY(standard_errors_say_fault(next, "resample", name, one->fault, error));
        if (one->wanted && isnan(one->sd))
            SHOT_TRY(standard_errors_say_unknown(next, "resample", name, error));
    }
    return SHOT_OK;
}

shot_status resample_tell_noise(resampler *self, shot_error *error) {
    SHOT_TRY(tell_what_was(self, error));
    return tell_no_errors(self, error);
}
