/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text that grows. */
#include <shottrace/trace/text.h>

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/number_text.h>

shot_status shot_text_reserve(shot_text *text, size_t more) {
    size_t needed = text->length + more + 1;
    if (needed <= text->room)
        return SHOT_OK;
    size_t room = text->room ? text->room : 32;
    while (room < needed)
        room += room / 2 + 1;
    char *bytes = realloc(text->bytes, room);
    if (bytes == NULL)
        return SHOT_ERR_MEMORY;
    text->bytes = bytes;
    text->room = room;
    return SHOT_OK;
}

shot_status shot_text_add_bytes(shot_text *text, const char *bytes, size_t count) {
    SHOT_TRY(shot_text_reserve(text, count));
    if (count > 0)
        memcpy(text->bytes + text->length, bytes, count);
    text->length += count;
    text->bytes[text->length] = '\0';
    return SHOT_OK;
}

shot_status shot_text_add(shot_text *text, const char *string) {
    return shot_text_add_bytes(text, string, strlen(string));
}

shot_status shot_text_add_number(shot_text *text, double value) {
    char digits[SHOT_NUMBER_ROOM];
    return shot_text_add_bytes(text, digits, shot_number_write(digits, value));
}

shot_status shot_text_add_format(shot_text *text, const char *format, ...) {
    va_list arguments, again;
    va_start(arguments, format);
    va_copy(again, arguments);
    int count = vsnprintf(NULL, 0, format, arguments);
    va_end(arguments);
    shot_status status = count < 0 ? SHOT_ERR_RANGE : shot_text_reserve(text, (size_t)count);
    if (status == SHOT_OK) {
        vsnprintf(text->bytes + text->length, (size_t)count + 1, format, again);
        text->length += (size_t)count;
    }
    va_end(again);
    return status;
}

void shot_text_clear(shot_text *text) {
    text->length = 0;
    if (text->bytes != NULL)
        text->bytes[0] = '\0';
}

void shot_text_free(shot_text *text) {
    free(text->bytes);
    *text = (shot_text){0};
}

char *shot_text_copy_bytes(const char *bytes, size_t count) {
    char *copy = malloc(count + 1);
    if (copy == NULL)
        return NULL;
    memcpy(copy, bytes, count);
    copy[count] = '\0';
    return copy;
}

char *shot_text_copy(const char *string) {
    return string == NULL ? NULL : shot_text_copy_bytes(string, strlen(string));
}
