/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Channels that a person names. */
#include "filter/named_channels.h"

#include <string.h>

#include <shottrace/trace/text.h>

shot_status named_channel_find(const shot_head *head, const char *name, size_t *column,
                               shot_error *error) {
    const ptrdiff_t found = shot_head_channel(head, name);
    if (found == 0)
        return shot_fail(error, SHOT_ERR_USAGE, "the time itself is no channel; name another");
    *column = found > 0 ? (size_t)found : 0;
    return SHOT_OK;
}

shot_status named_channels_check(const shot_head *head, const shot_texts *names,
                                 shot_error *error) {
    size_t column;
    for (size_t i = 0; i < names->count; i++)
        SHOT_TRY(named_channel_find(head, names->items[i], &column, error));
    return SHOT_OK;
}

static shot_status tell_person(const shot_notice *notice, const shot_head *head, const char *name) {
    shot_text text = {0};
    const shot_status status = shot_head_write_missing(head, name, &text);
    if (status == SHOT_OK)
        shot_notice_say(notice, "%s", text.bytes);
    shot_text_free(&text);
    return status;
}

shot_status named_channels_tell_missing(const shot_notice *notice, const shot_head *head,
                                        const shot_texts *names, const char *filter, shot_sink *to,
                                        shot_error *error) {
    for (size_t i = 0; i < names->count; i++) {
        const shot_texts before = {names->items, i};
        const char *name = names->items[i];
        if (shot_head_channel(head, name) >= 0 || named_channels_hold(&before, name))
            continue;
        SHOT_TRY(tell_person(notice, head, name));
        SHOT_TRY(
            shot_sink_say(to, "note", error, "shot-%s: there is no channel '%s'", filter, name));
    }
    return SHOT_OK;
}

bool named_channels_hold(const shot_texts *names, const char *name) {
    for (size_t i = 0; i < names->count; i++)
        if (strcmp(names->items[i], name) == 0)
            return true;
    return false;
}
