/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text that grows. */
#include <shottrace/trace/text.h>

#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/number_text.h>

#include "plain_format.h"
#include "trace/short_format.h"

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

static shot_status add_any_format(shot_text *text, const char *format, va_list arguments) {
    va_list again;
    va_copy(again, arguments);
    const size_t free_room = text->room - text->length;
    char *place = text->bytes + text->length;
    const int count = shot_format_arguments(place, free_room, format, arguments);
    shot_status status = count < 0 ? SHOT_ERR_RANGE : SHOT_OK;
    if (status == SHOT_OK && (size_t)count >= free_room) {
        status = shot_text_reserve(text, (size_t)count);
        if (status == SHOT_OK)
            shot_format_arguments(text->bytes + text->length, (size_t)count + 1, format, again);
    }
    va_end(again);
    if (status == SHOT_OK)
        text->length += (size_t)count;
    else
        text->bytes[text->length] = '\0';
    return status;
}

/* Mostly there is room, and the text need be made only once. */
shot_status shot_text_add_arguments(shot_text *text, const char *format, va_list arguments) {
    enum { NUMBERS = 64 };
    va_list again;
    size_t count;
    SHOT_TRY(shot_text_reserve(text, strlen(format) + NUMBERS));
    va_copy(again, arguments);
    const bool done =
        short_format(text->bytes + text->length, text->room - text->length, &count, format, again);
    va_end(again);
    if (!done)
        return add_any_format(text, format, arguments);
    text->length += count;
    return SHOT_OK;
}

shot_status shot_text_add_format(shot_text *text, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    const shot_status status = shot_text_add_arguments(text, format, arguments);
    va_end(arguments);
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
