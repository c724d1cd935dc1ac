/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A mark as a person types it. */
#include "filter/tag_mark.h"

#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/text.h>

/* FROM or FROM..TO; `text` is cut in two. */
static shot_status read_times(char *text, tag_mark *out) {
    char *dots = strstr(text, "..");
    if (dots != NULL)
        *dots = '\0';
    SHOT_TRY(typed_time_read(text, &out->from));
    out->to = out->from;
    return dots != NULL ? typed_time_read(dots + 2, &out->to) : SHOT_OK;
}

/* Letters, digits and what stands between words: what a kind in a stream may be, whatever the
 * locale calls a letter. */
static bool is_word(const char *text, size_t length) {
    static const char usual[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-._";
    return length > 0 && strspn(text, usual) >= length;
}

static shot_status read_parts(const char *text, tag_mark *out, shot_error *error) {
    const char *equals = strchr(text, '='), *colon = equals ? strchr(equals, ':') : NULL;
    if (equals == NULL || !is_word(text, (size_t)(equals - text)))
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--mark: '%s' is no mark; write KIND=TIME, KIND=FROM..TO or "
                         "KIND=TIME:NOTE, as first-drip=7.4s",
                         text);
    const char *end = colon ? colon : text + strlen(text);
    char *times = shot_text_copy_bytes(equals + 1, (size_t)(end - equals - 1));
    out->kind = shot_text_copy_bytes(text, (size_t)(equals - text));
    out->note = colon ? shot_text_copy(colon + 1 + strspn(colon + 1, " ")) : NULL;
    if (times == NULL || out->kind == NULL || (colon && out->note == NULL)) {
        free(times);
        return SHOT_ERR_MEMORY;
    }
    const shot_status status = read_times(times, out);
    free(times);
    if (status == SHOT_OK || status == SHOT_ERR_MEMORY)
        return status;
    return shot_fail(error, SHOT_ERR_USAGE,
                     "--mark: the time in '%s' cannot be read; write 7.4s, 7.4s..9s, or +7.4s "
                     "from the first row",
                     text);
}

shot_status tag_mark_read(const char *text, tag_mark *out, shot_error *error) {
    *out = (tag_mark){0};
    shot_status status = read_parts(text, out, error);
    if (status == SHOT_OK && typed_time_is_after(&out->from, &out->to))
        status = shot_fail(error, SHOT_ERR_USAGE, "--mark: '%s' ends before it begins", text);
    if (status != SHOT_OK)
        tag_mark_free(out);
    return status;
}

shot_status tag_mark_settle(const tag_mark *mark, const shot_decimal *origin, double first,
                            shot_mark *out) {
    shot_mark borrowed = shot_mark_none();
    borrowed.kind = mark->kind;
    borrowed.note = mark->note;
    SHOT_TRY(typed_time_settle(&mark->from, origin, first, &borrowed.from));
    SHOT_TRY(typed_time_settle(&mark->to, origin, first, &borrowed.to));
    return shot_mark_copy(&borrowed, out);
}

void tag_mark_free(tag_mark *mark) {
    free(mark->kind);
    free(mark->note);
    *mark = (tag_mark){0};
}
