/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a detector hands back. */
#include <shottrace/trace/detector.h>

#include <stdarg.h>
#include <stdlib.h>

#include <shottrace/trace/text.h>

shot_status shot_findings_add(shot_findings *found, const shot_mark *mark) {
    return shot_mark_list_add(&found->marks, mark);
}

/* Takes over the value. */
static shot_status add_line(shot_findings *found, const char *key, char *value) {
    char *copy = shot_text_copy(key);
    shot_line *lines = realloc(found->lines, (found->line_count + 1) * sizeof *lines);
    if (lines != NULL)
        found->lines = lines;
    if (copy == NULL || lines == NULL) {
        free(copy);
        free(value);
        return SHOT_ERR_MEMORY;
    }
    lines[found->line_count++] = (shot_line){copy, value};
    return SHOT_OK;
}

shot_status shot_findings_note(shot_findings *found, const char *filter, const char *format, ...) {
    shot_text value = {0};
    va_list arguments;
    va_start(arguments, format);
    shot_status status = shot_text_add_format(&value, "shot-%s: ", filter);
    if (status == SHOT_OK)
        status = shot_text_add_arguments(&value, format, arguments);
    va_end(arguments);
    if (status == SHOT_OK)
        return add_line(found, "note", value.bytes);
    shot_text_free(&value);
    return status;
}

shot_status shot_findings_tell_missing(shot_findings *found, const shot_head *head,
                                       const char *channel) {
    SHOT_TRY(shot_head_write_missing(head, channel, &found->told));
    return shot_text_add(&found->told, "\n");
}

void shot_findings_free(shot_findings *found) {
    for (size_t i = 0; i < found->line_count; i++) {
        free(found->lines[i].key);
        free(found->lines[i].value);
    }
    free(found->lines);
    shot_mark_list_free(&found->marks);
    shot_text_free(&found->told);
    *found = (shot_findings){0};
}
