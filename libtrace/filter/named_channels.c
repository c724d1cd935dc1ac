/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Channels that a person names. */
#include "filter/named_channels.h"

#include <string.h>

#include <shottrace/trace/text.h>

static shot_status fail(const shot_head *head, const char *name, shot_error *error) {
    shot_text there = {0};
    shot_status status = shot_text_add(&there, head->channel_count > 1 ? "it has " : "it has none");
    for (size_t c = 1; c < head->channel_count && status == SHOT_OK; c++)
        status = shot_text_add_format(&there, "%s%s", c > 1 ? ", " : "", head->channels[c].name);
    if (status == SHOT_OK)
        status = shot_fail(error, SHOT_ERR_DATA, "shot '%s' has no channel '%s'; %s", head->name,
                           name, there.bytes);
    shot_text_free(&there);
    return status;
}

shot_status named_channel_find(const shot_head *head, const char *name, size_t *column,
                               shot_error *error) {
    const ptrdiff_t found = shot_head_channel(head, name);
    if (found == 0)
        return shot_fail(error, SHOT_ERR_USAGE, "the time itself is no channel; name another");
    if (found < 0)
        return fail(head, name, error);
    *column = (size_t)found;
    return SHOT_OK;
}

shot_status named_channels_check(const shot_head *head, const shot_texts *names,
                                 shot_error *error) {
    size_t column;
    for (size_t i = 0; i < names->count; i++)
        SHOT_TRY(named_channel_find(head, names->items[i], &column, error));
    return SHOT_OK;
}

bool named_channels_hold(const shot_texts *names, const char *name) {
    for (size_t i = 0; i < names->count; i++)
        if (strcmp(names->items[i], name) == 0)
            return true;
    return false;
}
