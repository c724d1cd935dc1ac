/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the filters with --errors share. */
#include "filter/standard_errors.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/text.h>
#include <shottrace/trace/unit.h>

shot_noise_line standard_errors_found(const shot_noise *found) {
    const double sd = found->fitted_sd, correlation = found->fitted_correlation;
    if (!found->fitted_longest || correlation == 0)
        return (shot_noise_line){sd, correlation};
    const double r = exp(-found->spacing / correlation);
    return (shot_noise_line){sd * sqrt((1 + r) / (1 - r)), 0};
}

ptrdiff_t standard_errors_channel(const shot_head *head, const char *channel) {
    const size_t length = strlen(channel);
    for (size_t i = 0; i < head->channel_count; i++) {
        const char *name = head->channels[i].name;
        if (strncmp(name, channel, length) == 0 && strcmp(name + length, ".se") == 0)
            return (ptrdiff_t)i;
    }
    return -1;
}

static shot_status add_name(shot_text *text, const char *name, const char *suffix,
                            const char *tail) {
    SHOT_TRY(shot_text_add(text, name));
    SHOT_TRY(shot_text_add(text, suffix != NULL ? suffix : ""));
    return shot_text_add(text, tail);
}

shot_status standard_errors_add_channel(const shot_head *from, size_t column, const char *suffix,
                                        const char *tail, int seconds, shot_head *to,
                                        shot_error *error) {
    const shot_channel *channel = &from->channels[column];
    shot_text name = {0};
    char *unit = NULL;
    shot_status status = shot_unit_combine(channel->unit, 1, "s", seconds, &unit, error);
    if (status == SHOT_OK)
        status = add_name(&name, channel->name, suffix, tail);
    if (status == SHOT_OK && shot_head_channel(to, name.bytes) >= 0)
        status = shot_fail(error, SHOT_ERR_DATA,
                           "shot '%s' has a channel '%s' already; take it out before", to->name,
                           name.bytes);
    if (status == SHOT_OK)
        status = shot_head_add_channel(to, name.bytes, unit);
    free(unit);
    shot_text_free(&name);
    return status;
}

shot_status standard_errors_say_unknown(shot_sink *next, const char *filter, const char *channel,
                                        shot_error *error) {
    return shot_sink_say(next, "note", error,
                         "shot-%s: %s: no standard errors: too few samples tell its noise", filter,
                         channel);
}

shot_status standard_errors_say_fault(shot_sink *next, const char *filter, const char *channel,
                                      const char *fault, shot_error *error) {
    return shot_sink_say(next, "note", error,
                         "shot-%s: %s%sno standard errors, since the errors of samples that went "
                         "through %s depend on each other",
                         filter, channel ? channel : "", channel ? ": " : "", fault);
}

void standard_errors_latency(char *out, size_t room) {
    snprintf(out, room, "until the end of the shot, unless '# noise:' lines stand before it");
}
