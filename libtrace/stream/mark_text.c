/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A mark as the text of its line. */
#include <shottrace/stream/mark_text.h>

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/number_text.h>

#include "stream/mark_fields.h"

/* The fields of a mark in the order in which they are written. */
typedef struct field {
    const char *key;
    bool number, time;
    size_t offset;
} field;

#define TIME(key, name)                                                                            \
    { key, true, true, offsetof(shot_mark, name) }
#define NUMBER(key, name)                                                                          \
    { key, true, false, offsetof(shot_mark, name) }
#define TEXT(key, name)                                                                            \
    { key, false, false, offsetof(shot_mark, name) }

static const field fields[] = {
    TEXT("id", id),
    TIME("from", from),
    TIME("to", to),
    TIME("from.low", from_low),
    TIME("from.high", from_high),
    TIME("to.low", to_low),
    TIME("to.high", to_high),
    NUMBER("level", level),
    TEXT("channel", channel),
    NUMBER("value", value),
    TEXT("unit", unit),
    NUMBER("value.low", value_low),
    NUMBER("value.high", value_high),
    TEXT("refines", refines),
    TEXT("note", note),
};

enum { FIELDS = sizeof fields / sizeof *fields };

const char *shot_mark_field_name(size_t index, bool *number) {
    if (index >= FIELDS)
        return NULL;
    *number = fields[index].number;
    return fields[index].key;
}

static shot_status add_field(const shot_mark *mark, const field *one, shot_text *text,
                             bool *there) {
    const char *place = (const char *)mark + one->offset;
    if (one->number) {
        double value = *(const double *)place;
        *there = isfinite(value);
        return *there ? shot_text_add_number(text, value) : SHOT_OK;
    }
    const char *value = *(char *const *)place;
    *there = value != NULL;
    return *there ? shot_text_add(text, value) : SHOT_OK;
}

shot_status shot_mark_field(const shot_mark *mark, const char *key, shot_text *text, bool *there) {
    *there = true;
    if (strcmp(key, "kind") == 0)
        return shot_text_add(text, mark->kind != NULL ? mark->kind : "note");
    for (size_t i = 0; i < FIELDS; i++)
        if (strcmp(fields[i].key, key) == 0)
            return add_field(mark, &fields[i], text, there);
    for (size_t i = 0; i < mark->extra_count; i++)
        if (strcmp(mark->extras[i].key, key) == 0)
            return shot_text_add(text, mark->extras[i].value);
    *there = false;
    return SHOT_OK;
}

static bool plain(const char *value) {
    return *value != '\0' && strpbrk(value, " \t\"\\\n\r") == NULL;
}

static shot_status write_value(shot_text *text, const char *value) {
    if (plain(value))
        return shot_text_add(text, value);
    SHOT_TRY(shot_text_add(text, "\""));
    for (const char *c = value; *c != '\0'; c++) {
        if (*c == '"' || *c == '\\')
            SHOT_TRY(shot_text_add(text, "\\"));
        SHOT_TRY(*c == '\n' ? shot_text_add(text, "\\n") : shot_text_add_bytes(text, c, 1));
    }
    return shot_text_add(text, "\"");
}

static shot_status write_key(shot_text *text, const char *key) {
    SHOT_TRY(shot_text_add(text, " "));
    SHOT_TRY(shot_text_add(text, key));
    return shot_text_add(text, "=");
}

static shot_status write_field(shot_text *text, const field *one, const shot_mark *mark) {
    const char *place = (const char *)mark + one->offset;
    if (one->number) {
        double value = *(const double *)place;
        if (!isfinite(value))
            return SHOT_OK;
        SHOT_TRY(write_key(text, one->key));
        return shot_text_add_number(text, value);
    }
    const char *value = *(char *const *)place;
    if (value == NULL)
        return SHOT_OK;
    SHOT_TRY(write_key(text, one->key));
    return write_value(text, value);
}

shot_status shot_mark_write(shot_text *text, const shot_mark *mark) {
    SHOT_TRY(write_value(text, mark->kind ? mark->kind : "note"));
    for (size_t i = 0; i < FIELDS; i++)
        SHOT_TRY(write_field(text, &fields[i], mark));
    for (size_t i = 0; i < mark->extra_count; i++) {
        SHOT_TRY(write_key(text, mark->extras[i].key));
        SHOT_TRY(write_value(text, mark->extras[i].value));
    }
    return SHOT_OK;
}

/* The value that starts at *text, unquoted, into `out`; *text moves behind it, and is NULL where a
 * quote is not closed. */
static shot_status read_value(const char **text, const char *end, shot_text *out) {
    const char *at = *text;
    const bool quoted = at < end && *at == '"';
    shot_text_clear(out);
    SHOT_TRY(shot_text_reserve(out, (size_t)(end - at) + 1));
    SHOT_TRY(shot_text_add(out, ""));
    *text = NULL;
    for (at += quoted; at < end; at++) {
        if (quoted ? *at == '"' : (*at == ' ' || *at == '\t')) {
            *text = quoted ? at + 1 : at;
            return SHOT_OK;
        }
        char byte = *at;
        if (quoted && byte == '\\' && at + 1 < end) {
            byte = *++at;
            byte = byte == 'n' ? '\n' : byte;
        }
        SHOT_TRY(shot_text_add_bytes(out, &byte, 1));
    }
    *text = quoted ? NULL : at;
    return SHOT_OK;
}

/* A number, or a time less the origin, in the text where both are exact. */
static bool read_number(const field *one, const shot_text *value, const shot_decimal *origin,
                        double *out) {
    const char *end = value->bytes + value->length;
    shot_decimal time;
    if (shot_number_read(value->bytes, end, out) != end || isinf(*out)) /* too large for a double */
        return false;
    if (one->time && origin != NULL && shot_decimal_read(value->bytes, end, 0, &time) == end &&
        shot_decimal_subtract(&time, origin) == SHOT_OK)
        *out = shot_decimal_value(&time);
    return true;
}

static shot_status set_field(shot_mark *mark, const char *key, const shot_text *value,
                             const shot_decimal *origin, shot_error *error) {
    for (size_t i = 0; i < FIELDS; i++) {
        if (strcmp(fields[i].key, key) != 0)
            continue;
        char *place = (char *)mark + fields[i].offset;
        if (fields[i].number) {
            if (read_number(&fields[i], value, origin, (double *)place))
                return SHOT_OK;
            return shot_fail(error, SHOT_ERR_SYNTAX, "%s of a mark is '%s', not a number", key,
                             value->bytes);
        }
        free(*(char **)place);
        *(char **)place = shot_text_copy(value->bytes);
        return *(char **)place ? SHOT_OK : SHOT_ERR_MEMORY;
    }
    return shot_mark_add_extra(mark, key, value->bytes);
}

/* One key=value pair; *text moves behind it. */
static shot_status read_pair(const char **text, const char *end, const shot_decimal *origin,
                             shot_mark *mark, shot_text *value, shot_error *error) {
    const char *equals = memchr(*text, '=', (size_t)(end - *text));
    if (equals == NULL || equals == *text)
        return shot_fail(error, SHOT_ERR_SYNTAX, "'%.*s' in a mark is not KEY=VALUE",
                         (int)(end - *text > 40 ? 40 : end - *text), *text);
    char *key = shot_text_copy_bytes(*text, (size_t)(equals - *text));
    if (key == NULL)
        return SHOT_ERR_MEMORY;
    *text = equals + 1;
    shot_status status = read_value(text, end, value);
    if (status == SHOT_OK && *text == NULL)
        status = shot_fail(error, SHOT_ERR_SYNTAX, "%s of a mark lacks its closing quote", key);
    else if (status == SHOT_OK)
        status = set_field(mark, key, value, origin, error);
    free(key);
    return status;
}

static const char *skip_spaces(const char *text, const char *end) {
    while (text < end && (*text == ' ' || *text == '\t'))
        text++;
    return text;
}

static shot_status read_all(const char *text, const char *end, const shot_decimal *origin,
                            shot_mark *out, shot_text *value, shot_error *error) {
    text = skip_spaces(text, end);
    SHOT_TRY(read_value(&text, end, value));
    if (text == NULL || value->length == 0)
        return shot_fail(error, SHOT_ERR_SYNTAX, "a mark without a kind");
    out->kind = shot_text_copy(value->bytes);
    if (out->kind == NULL)
        return SHOT_ERR_MEMORY;
    while ((text = skip_spaces(text, end)) < end)
        SHOT_TRY(read_pair(&text, end, origin, out, value, error));
    if (!isfinite(out->from))
        return shot_fail(error, SHOT_ERR_SYNTAX, "a mark of kind '%s' without from=TIME",
                         out->kind);
    return SHOT_OK;
}

shot_status shot_mark_read(const char *text, const char *end, shot_mark *out, shot_error *error) {
    return shot_mark_read_less(text, end, NULL, out, error);
}

shot_status shot_mark_read_less(const char *text, const char *end, const shot_decimal *origin,
                                shot_mark *out, shot_error *error) {
    shot_text value = {0};
    *out = shot_mark_none();
    shot_status status = read_all(text, end, origin, out, &value, error);
    shot_text_free(&value);
    if (status != SHOT_OK)
        shot_mark_free(out);
    return status;
}
