/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The object that shot-write makes of a shot, read back. */
#include "stream/json_export.h"

#include <stdlib.h>
#include <string.h>

#include <shottrace/stream/mark_text.h>

static bool is(shot_cell name, const char *text) {
    return name.length == strlen(text) && memcmp(name.text, text, name.length) == 0;
}

/* The name behind `start`, which is text and a point; NULL if it does not start so. */
static const char *behind(shot_cell name, const char *start) {
    size_t length = strlen(start);
    return name.length > length && memcmp(name.text, start, length) == 0 ? name.text + length
                                                                         : NULL;
}

bool shot_json_is_export(const shot_json_unit *unit) {
    if (unit->count == 0 || !is(shot_json_unit_name(unit, 0), "shot") || unit->fields[0].list)
        return false;
    for (size_t i = 1; i < unit->count; i++)
        if (unit->fields[i].list && is(shot_json_unit_name(unit, i), "data.time [s]"))
            return true;
    return false;
}

/* Key and value, copied so that they end; a NULL key is a comment. */
static shot_status tell(shot_table_target *target, const char *key, size_t length, shot_cell value,
                        shot_error *error) {
    char *k = key != NULL ? shot_text_copy_bytes(key, length) : NULL;
    char *v = shot_text_copy_bytes(value.text, value.length);
    shot_status status = v == NULL || (k == NULL && key != NULL)
                             ? SHOT_ERR_MEMORY
                             : target->calls->line(target, k, v, error);
    free(k);
    free(v);
    return status;
}

static shot_status tell_lines(const shot_json_unit *unit, shot_table_target *target,
                              shot_error *error) {
    for (size_t i = 0; i < unit->count; i++) {
        shot_cell name = shot_json_unit_name(unit, i);
        const char *key = i == 0 ? "shot" : behind(name, "metadata.");
        bool comment = is(name, "comments");
        if (key == NULL && !comment)
            continue;
        size_t length = i == 0 ? 4 : key != NULL ? (size_t)(name.text + name.length - key) : 0;
        for (size_t v = 0; v < unit->fields[i].count; v++)
            SHOT_TRY(tell(target, key, length, shot_json_unit_value(unit, i, v), error));
    }
    return SHOT_OK;
}

/* ----------------------------------------------------------------------------------- marks --- */

/* A value as the text of a mark has it. */
static shot_status add_quoted(shot_text *text, shot_cell value) {
    SHOT_TRY(shot_text_add(text, "\""));
    for (size_t i = 0; i < value.length; i++) {
        char c = value.text[i];
        if (c == '"' || c == '\\')
            SHOT_TRY(shot_text_add(text, "\\"));
        SHOT_TRY(c == '\n' ? shot_text_add(text, "\\n") : shot_text_add_bytes(text, &c, 1));
    }
    return shot_text_add(text, "\"");
}

static shot_status add_mark_fields(const shot_json_unit *unit, size_t mark, shot_text *text) {
    for (size_t i = 0; i < unit->count; i++) {
        shot_cell name = shot_json_unit_name(unit, i);
        const char *key = behind(name, "marks.");
        shot_cell value = shot_json_unit_value(unit, i, mark);
        if (key == NULL || value.length == 0)
            continue;
        size_t length = (size_t)(name.text + name.length - key);
        if (length == 4 && memcmp(key, "kind", 4) == 0) {
            SHOT_TRY(add_quoted(text, value));
            continue;
        }
        SHOT_TRY(shot_text_add(text, " "));
        SHOT_TRY(shot_text_add_bytes(text, key, length));
        SHOT_TRY(shot_text_add(text, "="));
        SHOT_TRY(add_quoted(text, value));
    }
    return SHOT_OK;
}

static shot_status tell_marks(const shot_json_unit *unit, shot_table_target *target,
                              shot_error *error) {
    size_t count = 0;
    shot_text text = {0};
    shot_status status = SHOT_OK;
    for (size_t i = 0; i < unit->count; i++)
        if (is(shot_json_unit_name(unit, i), "marks.kind"))
            count = unit->fields[i].count;
    for (size_t m = 0; m < count && status == SHOT_OK; m++) {
        shot_text_clear(&text);
        status = add_mark_fields(unit, m, &text);
        if (status == SHOT_OK)
            status = target->calls->line(target, "mark", text.bytes, error);
    }
    shot_text_free(&text);
    return status;
}

/* ------------------------------------------------------------------------------------ rows --- */

/* The fields that are columns, the clock first, in `fields`; returns their number. */
static size_t find_columns(const shot_json_unit *unit, size_t *fields) {
    size_t count = 0;
    for (size_t i = 0; i < unit->count; i++)
        if (unit->fields[i].list && behind(shot_json_unit_name(unit, i), "data.") != NULL)
            fields[count++] = i;
    return count;
}

static shot_status tell_header(const shot_json_unit *unit, const size_t *fields, size_t count,
                               shot_cell *cells, shot_table_target *target, shot_error *error) {
    for (size_t c = 0; c < count; c++) {
        shot_cell name = shot_json_unit_name(unit, fields[c]);
        const char *title = behind(name, "data.");
        cells[c] = (shot_cell){title, (size_t)(name.text + name.length - title)};
    }
    shot_record titles = {
        .cells = cells, .count = count, .line = unit->line, .text = "", .literal = true};
    return target->calls->header(target, &titles, NULL, error);
}

static shot_status tell_rows(const shot_json_unit *unit, const size_t *fields, size_t count,
                             shot_cell *cells, shot_table_target *target, shot_error *error) {
    size_t rows = 0;
    for (size_t c = 0; c < count; c++)
        rows = unit->fields[fields[c]].count > rows ? unit->fields[fields[c]].count : rows;
    for (size_t r = 0; r < rows; r++) {
        for (size_t c = 0; c < count; c++)
            cells[c] = shot_json_unit_value(unit, fields[c], r);
        shot_record row = {.cells = cells, .count = count, .line = unit->line, .text = ""};
        SHOT_TRY(target->calls->row(target, &row, error));
    }
    return SHOT_OK;
}

/* A whole shot has the ends that its trace had. */
static shot_status tell_ends(const shot_json_unit *unit, shot_table_target *target,
                             shot_error *error) {
    for (size_t i = 0; i < unit->count; i++)
        if (is(shot_json_unit_name(unit, i), "cut"))
            return SHOT_OK;
    SHOT_TRY(target->calls->line(target, "end", "", error));
    return target->calls->line(target, "close", "", error);
}

shot_status shot_json_export_tell(const shot_json_unit *unit, shot_table_target *target,
                                  shot_error *error) {
    size_t *fields = calloc(unit->count, sizeof *fields);
    shot_cell *cells = calloc(unit->count, sizeof *cells);
    shot_status status = fields != NULL && cells != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
    size_t count = status == SHOT_OK ? find_columns(unit, fields) : 0;
    if (status == SHOT_OK)
        status = tell_lines(unit, target, error);
    if (status == SHOT_OK)
        status = tell_header(unit, fields, count, cells, target, error);
    if (status == SHOT_OK)
        status = tell_rows(unit, fields, count, cells, target, error);
    if (status == SHOT_OK)
        status = tell_marks(unit, target, error);
    if (status == SHOT_OK)
        status = tell_ends(unit, target, error);
    free(fields);
    free(cells);
    return status == SHOT_OK ? target->calls->end(target, error) : status;
}
