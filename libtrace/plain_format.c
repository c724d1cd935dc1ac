/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text made to a format, whatever the locale. */
#include "plain_format.h"

#include <langinfo.h>
#include <locale.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include <shottrace/trace/number_text.h>

/* ---- the formats that a line of a trace needs ---- */

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

/* Text of "%s", "%zu", "%.Ng" and what stands between them; false for anything else, or without
 * room. */
static bool format_plainly(plain_text *text, const char *format, va_list arguments) {
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

/* ---- any format ---- */

/* Most programs never leave the C locale, and changing it costs more than the text. */
static int format_any(char *out, size_t room, const char *format, va_list arguments) {
    if (strcmp(nl_langinfo(RADIXCHAR), ".") == 0)
        return vsnprintf(out, room, format, arguments);
    const locale_t plain = newlocale(LC_ALL_MASK, "C", (locale_t)0);
    if (plain == (locale_t)0)
        return -1;
    const locale_t before = uselocale(plain); /* of this thread alone */
    const int count = vsnprintf(out, room, format, arguments);
    uselocale(before);
    freelocale(plain);
    return count;
}

int shot_format_arguments(char *out, size_t room, const char *format, va_list arguments) {
    plain_text text = {out, room, 0};
    va_list first;
    va_copy(first, arguments);
    const bool done = room > 0 && format_plainly(&text, format, first);
    va_end(first);
    return done ? (int)text.length : format_any(out, room, format, arguments);
}

/* The length of text[0..length-1] without the part of a character at its end. */
static size_t without_part(const char *text, size_t length) {
    size_t start = length;
    while (start > 0 && length - start < 3 && ((unsigned char)text[start - 1] & 0xc0) == 0x80)
        start--;
    if (start == 0)
        return length;
    const unsigned char lead = (unsigned char)text[start - 1];
    const size_t whole = lead >= 0xf0 ? 4 : lead >= 0xe0 ? 3 : lead >= 0xc0 ? 2 : 1;
    return length - start + 1 < whole ? start - 1 : length;
}

void shot_format_cut(char *out, size_t room, const char *format, va_list arguments) {
    const int count = shot_format_arguments(out, room, format, arguments);
    if (count < 0)
        out[0] = '\0';
    else if ((size_t)count >= room)
        out[without_part(out, room - 1)] = '\0';
}

void shot_format(char *out, size_t room, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    shot_format_cut(out, room, format, arguments);
    va_end(arguments);
}

const char *shot_plural(size_t count) {
    return count == 1 ? "" : "s";
}
