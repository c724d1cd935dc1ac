/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a stage that works channel by channel could not know. */
#include <math.h>

#include "filter/by_channel_parts.h"
#include "filter/standard_errors.h"

static shot_status tell_loss(by_channel *self, const worked *one, shot_error *error) {
    const char *filter = self->rule.filter;
    const size_t lost = one->lost > one->beyond ? one->lost - one->beyond : 0;
    if (lost > 0)
        SHOT_TRY(shot_sink_say(self->stage.next, "note", error,
                               "shot-%s: %s: %zu of %zu samples are left without a value: %s",
                               filter, one->name, lost, one->came, self->rule.why_none));
    if (one->beyond > 0)
        SHOT_TRY(shot_sink_say(
            self->stage.next, "note", error,
            one->beyond == 1
                ? "shot-%s: %s: %zu result is beyond the largest number, and is missing"
                : "shot-%s: %s: %zu results are beyond the largest number, and are missing",
            filter, one->name, one->beyond));
    if (one->bare > 0)
        SHOT_TRY(shot_sink_say(self->stage.next, "note", error,
                               "shot-%s: %s: %zu value%s no standard error: the filter "
                               "remembers more rows than can be weighed",
                               filter, one->name, one->bare, one->bare == 1 ? " has" : "s have"));
    if (one->stale >= 0)
        SHOT_TRY(shot_sink_say(self->stage.next, "note", error,
                               "shot-%s: %s.se told of %s before, and is missing now", filter,
                               one->name, one->name));
    if (self->errors && isnan(one->is.sd))
        SHOT_TRY(standard_errors_say_unknown(self->stage.next, filter, one->name, error));
    return SHOT_OK;
}

static shot_status tell_choice(by_channel *self, const worked *one, shot_error *error) {
    const channel_kernel_calls *calls = one->kernel.calls;
    shot_text words = {0};
    if (calls->describe == NULL)
        return SHOT_OK;
    shot_status status = calls->describe(one->kernel.object, &words);
    if (status == SHOT_OK && words.length > 0)
        status = shot_sink_say(self->stage.next, "note", error, "shot-%s: %s: %s",
                               self->rule.filter, one->name, words.bytes);
    shot_text_free(&words);
    return status;
}

shot_status by_channel_tell_losses(by_channel *self, shot_error *error) {
    const char *filter = self->rule.filter;
    for (size_t i = 0; i < self->count; i++) {
        SHOT_TRY(tell_choice(self, &self->channels[i], error));
        SHOT_TRY(tell_loss(self, &self->channels[i], error));
    }
    if (self->why_not != NULL)
        SHOT_TRY(standard_errors_say_fault(self->stage.next, filter, NULL, self->why_not, error));
    if (self->count == 0 && self->rule.channels->count == 0)
        SHOT_TRY(shot_sink_say(self->stage.next, "note", error,
                               "shot-%s: no measured channel among those known; name one with "
                               "--channel",
                               filter));
    return SHOT_OK;
}
