/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text made to a format, whatever the locale. */
#include "plain_format.h"

#include <langinfo.h>
#include <locale.h>
#include <stdio.h>
#include <string.h>

/* Most programs never leave the C locale, and changing it costs more than the text. */
int shot_format_arguments(char *out, size_t room, const char *format, va_list arguments) {
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
