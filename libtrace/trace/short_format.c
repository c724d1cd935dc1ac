/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The formats that the lines of a trace need most. */
#include "trace/short_format.h"

#include <math.h>
#include <string.h>

#include <shottrace/trace/number_text.h>

typedef struct plain_text {
    char *bytes;
    size_t room, length;
} plain_text;

/* False where it has no room, with a '\0' behind it. */
static bool put(plain_text *text, const char *bytes, size_t count) {
    if (text->room - text->length <= count)
        return false;
    memcpy(text->bytes + text->length, bytes, count);
    text->length += count;
    return true;
}

static bool put_count(plain_text *text, size_t value) {
    enum { MOST = 20 };
    char digits[MOST];
    size_t at = MOST;
    do
        digits[--at] = (char)('0' + value % 10);
    while ((value /= 10) > 0);
    return put(text, digits + at, MOST - at);
}

/* As "%.Ng" where that has no exponent; for the others, false. */
static bool put_number(plain_text *text, double value, int digits) {
    char out[SHOT_NUMBER_ROOM];
    const double size = fabs(value);
    if (digits < 1 || digits > 10 || !(size >= 1e-4 && size < pow(10, digits) - 1))
        return false;
    return put(text, out, shot_number_write_digits(out, value, digits));
}

static bool put_all(plain_text *text, const char *format, va_list arguments) {
    while (*format != '\0') {
        const size_t words = strcspn(format, "%");
        bool done = put(text, format, words);
        format += words;
        if (done && format[0] == '%' && format[1] == 's') {
            const char *string = va_arg(arguments, const char *);
            done = string != NULL && put(text, string, strlen(string));
            format += 2;
        } else if (done && strncmp(format, "%zu", 3) == 0) {
            done = put_count(text, va_arg(arguments, size_t));
            format += 3;
        } else if (done && format[0] == '%') {
            const char *digits = format + 2;
            int precision = 0;
            for (; format[1] == '.' && *digits >= '0' && *digits <= '9' && precision < 100;
                 digits++)
                precision = 10 * precision + (*digits - '0');
            done = format[1] == '.' && *digits == 'g' &&
                   put_number(text, va_arg(arguments, double), precision);
            format = digits + 1;
        }
        if (!done)
            return false;
    }
    text->bytes[text->length] = '\0';
    return true;
}

bool short_format(char *out, size_t room, size_t *length, const char *format, va_list arguments) {
    plain_text text = {out, room, 0};
    if (room == 0 || !put_all(&text, format, arguments))
        return false;
    *length = text.length;
    return true;
}
