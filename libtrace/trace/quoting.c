/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text inside other text. */
#include <shottrace/trace/quoting.h>

#include <string.h>

shot_status shot_text_add_csv(shot_text *text, const char *value) {
    if (value == NULL)
        return shot_text_add(text, "");
    if (strpbrk(value, ",\"\r\n") == NULL)
        return shot_text_add(text, value);
    SHOT_TRY(shot_text_add(text, "\""));
    for (; *value != '\0'; value++)
        SHOT_TRY(*value == '"' ? shot_text_add(text, "\"\"") : shot_text_add_bytes(text, value, 1));
    return shot_text_add(text, "\"");
}

/* The length of the well-formed UTF-8 sequence at `s` (Unicode, table 3-7), or 0. */
static size_t utf8_length(const unsigned char *s) {
    if (s[0] < 0x80)
        return 1;
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

static shot_status add_json_byte(shot_text *text, unsigned char byte) {
    switch (byte) {
    case '"':
        return shot_text_add(text, "\\\"");
    case '\\':
        return shot_text_add(text, "\\\\");
    case '\n':
        return shot_text_add(text, "\\n");
    case '\t':
        return shot_text_add(text, "\\t");
    default:
        return byte < 0x20 ? shot_text_add_format(text, "\\u%04x", byte)
                           : shot_text_add_bytes(text, (const char *)&byte, 1);
    }
}

shot_status shot_text_add_json(shot_text *text, const char *value) {
    if (value == NULL)
        return shot_text_add(text, "null");
    SHOT_TRY(shot_text_add(text, "\""));
    while (*value != '\0') {
        size_t length = utf8_length((const unsigned char *)value);
        if (length > 1)
            SHOT_TRY(shot_text_add_bytes(text, value, length));
        else if (length == 1)
            SHOT_TRY(add_json_byte(text, (unsigned char)*value));
        else
            SHOT_TRY(shot_text_add(text, "\xef\xbf\xbd"));
        value += length ? length : 1;
    }
    return shot_text_add(text, "\"");
}
