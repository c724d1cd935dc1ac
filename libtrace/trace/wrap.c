/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Words broken into lines. */
#include <shottrace/trace/wrap.h>

#include <stdbool.h>
#include <string.h>

/* Columns that the bytes take: continuation bytes of UTF-8 take none. */
static size_t columns_of(const char *bytes, size_t count) {
    size_t columns = 0;
    for (size_t i = 0; i < count; i++)
        columns += ((unsigned char)bytes[i] & 0xc0) != 0x80;
    return columns;
}

shot_status shot_text_add_wrapped(shot_text *text, const char *words, size_t column, size_t indent,
                                  size_t width) {
    bool first = true;
    while (*words != '\0') {
        size_t length = strcspn(words, " \n"), columns = columns_of(words, length);
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
