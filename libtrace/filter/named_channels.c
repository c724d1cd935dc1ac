/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Channels that a person names. */
#include "filter/named_channels.h"

#include <string.h>

#include <shottrace/trace/quoting.h>
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

/* "shot 'quay-017' has no channel 'flow'; it has pressure, weight" */
static shot_status tell_person(const shot_notice *notice, const shot_head *head, const char *name) {
    shot_text there = {0};
    shot_status status = shot_text_add(&there, head->channel_count > 1 ? "it has " : "it has none");
    for (size_t c = 1; c < head->channel_count && status == SHOT_OK; c++) {
        status = shot_text_add(&there, c > 1 ? ", " : "");
        if (status == SHOT_OK) /* as an option takes it: quoted where it holds a comma */
            status = shot_text_add_csv(&there, head->channels[c].name);
    }
    if (status == SHOT_OK)
        shot_notice_say(notice, "shot '%s' has no channel '%s'; %s", head->name, name, there.bytes);
    shot_text_free(&there);
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
