/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Words broken into lines. */
#include <shottrace/trace/wrap.h>

#include <stdbool.h>
#include <string.h>

#include <shottrace/trace/plain_text.h>

shot_status shot_text_add_wrapped(shot_text *text, const char *words, size_t column, size_t indent,
                                  size_t width) {
    bool first = true;
    while (*words != '\0') {
        size_t length = strcspn(words, " \n"), columns = shot_plain_columns(words, length);
        if (!first && length > 0 && column + 1 + columns > width) {
            SHOT_TRY(shot_text_add_format(text, "\n%*s", (int)indent, ""));
            column = indent;
        } else if (!first && length > 0) {
            SHOT_TRY(shot_text_add(text, " "));
            column++;
        }
        SHOT_TRY(shot_text_add_bytes(text, words, length));
        column += columns;
        first = first && length == 0;
        words += length;
        if (*words == '\n') {
            SHOT_TRY(shot_text_add_format(text, "\n%*s", (int)indent, ""));
            column = indent;
            first = true;
        }
        words += *words != '\0';
    }
    return shot_text_add(text, "\n");
}
