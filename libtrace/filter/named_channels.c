/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Channels that a person names. */
#include "filter/named_channels.h"

#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/text.h>

static shot_status list_channels(const shot_head *head, shot_text *out) {
    shot_status status = head->channel_count > 1 ? SHOT_OK : shot_text_add(out, "none");
    for (size_t c = 1; c < head->channel_count && status == SHOT_OK; c++)
        status = shot_text_add_format(out, "%s%s", c > 1 ? ", " : "", head->channels[c].name);
    return status;
}

static shot_status fail(const shot_head *head, const char *name, shot_error *error) {
    shot_text there = {0};
    shot_status status = list_channels(head, &there);
    if (status == SHOT_OK)
        status = shot_fail(error, SHOT_ERR_DATA, "shot '%s' has no channel '%s'; it has %s",
                           head->name, name, there.bytes);
    shot_text_free(&there);
    return status;
}

static shot_status fail_time(shot_error *error) {
    return shot_fail(error, SHOT_ERR_USAGE, "the time itself is no channel; name another");
}

shot_status named_channel_find(const shot_head *head, const char *name, size_t *column,
                               shot_error *error) {
    const ptrdiff_t found = shot_head_channel(head, name);
    if (found == 0)
        return fail_time(error);
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

/* ---- over a stream ---- */

static shot_status tally_first(channel_tally *tally, const shot_texts *names, const shot_head *head,
                               shot_error *error) {
    tally->met = calloc(names->count, sizeof *tally->met);
    if (tally->met == NULL || list_channels(head, &tally->first) != SHOT_OK)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for the names of channels");
    return SHOT_OK;
}

shot_status channel_tally_add(channel_tally *tally, const shot_texts *names, const shot_head *head,
                              shot_error *error) {
    if (names->count == 0)
        return SHOT_OK;
    if (tally->met == NULL)
        SHOT_TRY(tally_first(tally, names, head, error));
    tally->shots++;
    for (size_t i = 0; i < names->count; i++) {
        const ptrdiff_t found = shot_head_channel(head, names->items[i]);
        if (found == 0)
            return fail_time(error);
        tally->met[i] += found > 0;
    }
    return SHOT_OK;
}

/* Is it the first of that name? */
static bool is_new(const shot_texts *names, size_t i) {
    const shot_texts before = {names->items, i};
    return !named_channels_hold(&before, names->items[i]);
}

shot_status channel_tally_note(const char *filter, const char *option, const shot_texts *names,
                               const shot_head *head, shot_sink *next, shot_error *error) {
    for (size_t i = 0; i < names->count; i++)
        if (is_new(names, i) && shot_head_channel(head, names->items[i]) < 0)
            SHOT_TRY(shot_sink_say(next, "note", error,
                                   "shot-%s: --%s %s: the shot has no such channel", filter, option,
                                   names->items[i]));
    return SHOT_OK;
}

shot_status channel_tally_close(const channel_tally *tally, const char *option,
                                const shot_texts *names, const shot_notice *notice,
                                shot_error *error) {
    for (size_t i = 0; i < names->count && tally->shots > 0; i++) {
        if (tally->met[i] == 0)
            return shot_fail(error, SHOT_ERR_DATA,
                             "--%s %s: no shot has such a channel; the first has %s", option,
                             names->items[i], tally->first.bytes);
        if (is_new(names, i) && tally->met[i] < tally->shots)
            shot_notice_say(notice, "--%s %s: %zu of %zu shots have no such channel", option,
                            names->items[i], tally->shots - tally->met[i], tally->shots);
    }
    return SHOT_OK;
}

void channel_tally_free(channel_tally *tally) {
    free(tally->met);
    shot_text_free(&tally->first);
}
