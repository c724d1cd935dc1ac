/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text inside other text. */
#include <shottrace/trace/quoting.h>

#include <string.h>

#include <shottrace/trace/plain_text.h>

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
        size_t length = shot_utf8_length(value);
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
