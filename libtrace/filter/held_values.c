/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The last value of a channel goes on. */
#include "filter/held_values.h"

#include <math.h>
#include <stdlib.h>

#include "filter/named_channels.h"

shot_status held_values_begin(held_values *held, const shot_head *head, const shot_texts *names) {
    held_values_free(held);
    if (names->count == 0)
        return SHOT_OK;
    held->channels = calloc(head->channel_count, sizeof *held->channels);
    if (held->channels == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t c = 1; c < head->channel_count; c++)
        if (named_channels_hold(names, head->channels[c].name))
            held->channels[held->count++] = (held_value){c, NAN, 0};
    return SHOT_OK;
}

static void fill(held_value *channel, double *y, size_t rows) {
    for (size_t i = 0; i < rows; i++) {
        const bool missing = isnan(y[i]);
        if (missing && !isnan(channel->last))
            channel->filled++;
        if (missing)
            y[i] = channel->last;
        channel->last = y[i];
    }
}

void held_values_fill(held_values *held, double *const *column, size_t rows) {
    for (size_t i = 0; i < held->count; i++)
        fill(&held->channels[i], column[held->channels[i].column], rows);
}

shot_status held_values_tell(const held_values *held, const shot_head *head, const char *filter,
                             shot_sink *to, shot_error *error) {
    for (size_t i = 0; i < held->count; i++) {
        const held_value *channel = &held->channels[i];
        if (channel->filled > 0)
            SHOT_TRY(shot_sink_say(to, "note", error,
                                   "shot-%s: %s: %zu row%s without a value got the one before",
                                   filter, head->channels[channel->column].name, channel->filled,
                                   channel->filled == 1 ? "" : "s"));
    }
    return SHOT_OK;
}

void held_values_free(held_values *held) {
    free(held->channels);
    *held = (held_values){0};
}
