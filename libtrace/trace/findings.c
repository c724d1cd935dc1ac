/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a detector hands back. */
#include <shottrace/trace/detector.h>

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#include <shottrace/trace/text.h>

shot_status shot_findings_add(shot_findings *found, const shot_mark *mark) {
    return shot_mark_list_add(&found->marks, mark);
}

shot_status shot_findings_note(shot_findings *found, const char *filter, const char *format, ...) {
    char text[512];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    shot_line *lines = realloc(found->lines, (found->line_count + 1) * sizeof *lines);
    if (lines == NULL)
        return SHOT_ERR_MEMORY;
    found->lines = lines;
    shot_text value = {0};
    char *key = shot_text_copy("note");
    shot_status status = shot_text_add_format(&value, "shot-%s: %s", filter, text);
    if (key == NULL || status != SHOT_OK) {
        free(key);
        shot_text_free(&value);
        return SHOT_ERR_MEMORY;
    }
    lines[found->line_count++] = (shot_line){key, value.bytes};
    return SHOT_OK;
}

void shot_findings_free(shot_findings *found) {
    for (size_t i = 0; i < found->line_count; i++) {
        free(found->lines[i].key);
        free(found->lines[i].value);
    }
    free(found->lines);
    shot_mark_list_free(&found->marks);
    *found = (shot_findings){0};
}
