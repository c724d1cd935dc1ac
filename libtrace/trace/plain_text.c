/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text that can be shown. */
#include <shottrace/trace/plain_text.h>

#include <string.h>

size_t shot_utf8_length(const char *text) {
    const unsigned char *s = (const unsigned char *)text;
    if (s[0] < 0x80)
        return s[0] != '\0';
    unsigned char low = 0x80, high = 0xbf;
    size_t length = s[0] >= 0xc2 && s[0] <= 0xdf ? 2 : s[0] >= 0xe0 && s[0] <= 0xef ? 3 : 0;
    if (s[0] >= 0xf0 && s[0] <= 0xf4)
        length = 4;
    if (s[0] == 0xe0)
        low = 0xa0;
    else if (s[0] == 0xed)
        high = 0x9f;
    else if (s[0] == 0xf0)
        low = 0x90;
    else if (s[0] == 0xf4)
        high = 0x8f;
    for (size_t i = 1; i < length; i++) {
        if (s[i] < low || s[i] > high)
            return 0;
        low = 0x80;
        high = 0xbf;
    }
    return length;
}

/* U+0000 to U+001F, U+007F to U+009F; the second row takes two bytes. */
static bool is_control(const char *text) {
    const unsigned char *s = (const unsigned char *)text;
    return s[0] < ' ' || s[0] == 0x7f || (s[0] == 0xc2 && s[1] >= 0x80 && s[1] < 0xa0);
}

size_t shot_plain_next(const char *text, bool *plain) {
    const size_t length = shot_utf8_length(text);
    *plain = length > 0 && (*text == '\n' || *text == '\t' || !is_control(text));
    return length > 0 ? length : 1;
}

static size_t make_plain(char *text, bool one_line) {
    char *to = text;
    for (const char *from = text; *from != '\0';) {
        bool plain;
        const size_t length = shot_plain_next(from, &plain);
        if (one_line && (*from == '\n' || *from == '\t'))
            plain = false;
        if (plain)
            memmove(to, from, length);
        else
            *to = '?';
        to += plain ? length : 1;
        from += length;
    }
    *to = '\0';
    return (size_t)(to - text);
}

size_t shot_plain_page(char *text) {
    return make_plain(text, false);
}

size_t shot_plain_line(char *text) {
    return make_plain(text, true);
}

static bool goes_on(char byte) {
    return ((unsigned char)byte & 0xc0) == 0x80;
}

size_t shot_plain_columns(const char *bytes, size_t count) {
    size_t columns = 0;
    for (size_t i = 0; i < count; i++)
        columns += !goes_on(bytes[i]);
    return columns;
}

size_t shot_plain_cut(const char *text, size_t columns) {
    size_t length = 0;
    while (text[length] != '\0' && (columns > 0 || goes_on(text[length])))
        columns -= !goes_on(text[length++]);
    return length;
}
