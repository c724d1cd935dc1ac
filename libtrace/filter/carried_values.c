/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The last value of a channel goes on. */
#include "filter/carried_values.h"

#include <math.h>
#include <stdlib.h>

#include "filter/named_channels.h"
#include "plain_format.h"

shot_status carried_values_begin(carried_values *carried, const shot_head *head,
                                 const shot_texts *names) {
    carried_values_free(carried);
    if (names->count == 0)
        return SHOT_OK;
    carried->channels = calloc(head->channel_count, sizeof *carried->channels);
    if (carried->channels == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t c = 1; c < head->channel_count; c++)
        if (named_channels_hold(names, head->channels[c].name))
            carried->channels[carried->count++] = (carried_value){c, NAN, 0};
    return SHOT_OK;
}

static void fill(carried_value *channel, double *y, size_t rows) {
    for (size_t i = 0; i < rows; i++) {
        const bool missing = isnan(y[i]);
        if (missing && !isnan(channel->last))
            channel->filled++;
        if (missing)
            y[i] = channel->last;
        channel->last = y[i];
    }
}

void carried_values_fill(carried_values *carried, double *const *column, size_t rows) {
    for (size_t i = 0; i < carried->count; i++)
        fill(&carried->channels[i], column[carried->channels[i].column], rows);
}

shot_status carried_values_tell(const carried_values *carried, const shot_head *head,
                                const char *filter, shot_sink *to, shot_error *error) {
    for (size_t i = 0; i < carried->count; i++) {
        const carried_value *channel = &carried->channels[i];
        if (channel->filled > 0)
            SHOT_TRY(shot_sink_say(to, "note", error,
                                   "shot-%s: %s: %zu row%s without a value got the one before",
                                   filter, head->channels[channel->column].name, channel->filled,
                                   shot_plural(channel->filled)));
    }
    return SHOT_OK;
}

void carried_values_free(carried_values *carried) {
    free(carried->channels);
    *carried = (carried_values){0};
}
