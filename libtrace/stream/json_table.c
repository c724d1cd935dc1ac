/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units of JSON as rows and columns. */
#include "stream/json_table.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "stream/column_names.h"
#include "stream/json_export.h"

/* ----------------------------------------------------------------------------------- names --- */

static bool same(shot_cell a, shot_cell b) {
    return a.length == b.length && memcmp(a.text, b.text, a.length) == 0;
}

static bool same_as(shot_cell cell, const char *text) {
    return same(cell, (shot_cell){text, strlen(text)});
}

/* The length of what all names have before a point in common: "data." of data.t and data.p. */
static size_t shared_start(const shot_cell *names, size_t count) {
    size_t shared = 0;
    for (size_t i = 0; count > 1 && i < names[0].length; i++) {
        for (size_t k = 1; k < count; k++)
            if (i >= names[k].length || names[k].text[i] != names[0].text[i])
                return shared;
        if (names[0].text[i] == '.')
            shared = i + 1;
    }
    return shared;
}

/* True if the column of that name is the clock. */
static bool is_clock(const shot_json_table *self, shot_cell name) {
    for (size_t i = 0; i < self->settings->map.count; i++) {
        const char *pair = self->settings->map.items[i];
        if (strncmp(pair, "time=", 5) == 0)
            return same_as(name, pair + 5);
    }
    return shot_title_names_time(name.text, name.length);
}

/* ----------------------------------------------------------------------------------- lines --- */

static bool has_number(const shot_json_unit *unit, size_t field) {
    shot_text scratch = {0};
    shot_cell_number number = {.found = false};
    for (size_t i = 0; i < unit->fields[field].count && !number.found; i++) {
        shot_cell cell = shot_json_unit_value(unit, field, i);
        if (shot_cell_read_number(&cell, &scratch, &number) != SHOT_OK)
            break;
    }
    shot_text_free(&scratch);
    return number.found;
}

static shot_status join_values(const shot_json_unit *unit, size_t field, shot_text *out) {
    shot_text_clear(out);
    for (size_t i = 0; i < unit->fields[field].count; i++) {
        shot_cell value = shot_json_unit_value(unit, field, i);
        if (i > 0)
            SHOT_TRY(shot_text_add(out, ", "));
        SHOT_TRY(shot_text_add_bytes(out, value.text, value.length));
    }
    return shot_text_add(out, "");
}

static shot_status tell_field(shot_json_table *self, const shot_json_unit *unit, size_t field,
                              shot_error *error) {
    shot_cell name = shot_json_unit_name(unit, field);
    SHOT_TRY(join_values(unit, field, &self->line));
    shot_cell value = {self->line.bytes, self->line.length};
    SHOT_TRY(shot_metadata_set(&name, &value, &self->metadata));
    return self->target->calls->line(self->target, self->metadata.key.bytes,
                                     self->metadata.value.bytes, error);
}

shot_status shot_json_table_lines(shot_json_table *self, const shot_json_unit *unit,
                                  shot_error *error) {
    for (size_t i = 0; i < unit->count; i++)
        SHOT_TRY(tell_field(self, unit, i, error));
    return SHOT_OK;
}

/* Of two fields of one name the last counts. */
static void tell_twice(shot_json_table *self, const shot_json_unit *unit, shot_cell name) {
    char text[200];
    snprintf(text, sizeof text, "line %zu: '%.*s' comes twice; the last one counts", unit->line,
             name.length > 60 ? 60 : (int)name.length, name.text);
    shot_foreign_table_lose(self->table, text);
}

/* ---------------------------------------------------------------------------------- header --- */

/* A cell for each column, with its title. */
static shot_status titles_in_cells(shot_json_table *self) {
    free(self->cells);
    self->cells = calloc(self->names.count + 1, sizeof *self->cells);
    for (size_t i = 0; i < self->names.count && self->cells != NULL; i++)
        self->cells[i] = shot_text_index_text(&self->names, i);
    return self->cells != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
}

/* Hand the titles, which stand in the cells, to the target. */
static shot_status say_header(shot_json_table *self, size_t line, const char *text, size_t length,
                              shot_error *error) {
    size_t shared = shared_start(self->cells, self->names.count);
    for (size_t i = 0; i < self->names.count; i++) {
        self->cells[i].text += shared;
        self->cells[i].length -= shared;
    }
    shot_record titles = {.cells = self->cells,
                          .count = self->names.count,
                          .line = line,
                          .text = text,
                          .length = length};
    return self->target->calls->header(self->target, &titles, NULL, error);
}

static void forget_header(shot_json_table *self) {
    self->headed = false;
    shot_text_index_clear(&self->names);
}

/* ---------------------------------------------------------------------------------- samples -- */

/* The name behind its last point: "time" of "sample.time". */
static shot_cell last_word(shot_cell name) {
    size_t start = name.length;
    while (start > 0 && name.text[start - 1] != '.')
        start--;
    return (shot_cell){name.text + start, name.length - start};
}

/* True for a unit that has a time of its own, or where there need be none. */
static bool is_sample(const shot_json_table *self, const shot_json_unit *unit) {
    bool timed = self->settings->rate > 0;
    for (size_t i = 0; i < unit->count && !timed; i++) {
        shot_cell name = shot_json_unit_name(unit, i);
        timed = is_clock(self, name) || is_clock(self, last_word(name));
    }
    return timed;
}

static shot_status reject(shot_json_table *self, const shot_json_unit *unit, shot_error *error,
                          const char *format, shot_cell name) {
    shot_error own = {0};
    error = error != NULL ? error : &own;
    int shown = name.length > 40 ? 40 : (int)name.length;
    shot_fail(error, SHOT_ERR_SYNTAX, format, shown, name.text);
    shot_record record = {
        .line = unit->line, .text = unit->text.bytes, .length = unit->text.length};
    return shot_foreign_table_reject(self->table, &record, error);
}

static shot_status tell_row(shot_json_table *self, const shot_json_unit *unit, shot_error *error) {
    static const char none[] = "";
    for (size_t i = 0; i < self->names.count; i++)
        self->cells[i] = (shot_cell){none, 0};
    for (size_t i = 0; i < unit->count; i++) {
        shot_cell name = shot_json_unit_name(unit, i);
        size_t column = shot_text_index_find(&self->names, name);
        if (column == SHOT_NOT_INDEXED && self->settings->names.count > 0)
            continue; /* not among those that were said */
        if (column == SHOT_NOT_INDEXED)
            return reject(self, unit, error,
                          "the field '%.*s' was not in the first rows; name all with --names",
                          name);
        if (unit->fields[i].list)
            return reject(self, unit, error, "the field '%.*s' is a list, not a value", name);
        if (self->cells[column].text != none)
            tell_twice(self, unit, name);
        self->cells[column] = shot_json_unit_value(unit, i, 0);
    }
    shot_record row = {.cells = self->cells,
                       .count = self->names.count,
                       .line = unit->line,
                       .text = unit->text.bytes != NULL ? unit->text.bytes : "",
                       .length = unit->text.length};
    return self->target->calls->row(self->target, &row, error);
}

/* True if the table has a column for each field: a row that lacks its time, say. */
static bool fits_columns(shot_json_table *self, const shot_json_unit *unit) {
    bool fits = unit->count > 0;
    for (size_t i = 0; i < unit->count && fits; i++)
        fits = shot_text_index_find(&self->names, shot_json_unit_name(unit, i)) != SHOT_NOT_INDEXED;
    return fits;
}

static shot_status take_unit(shot_json_table *self, const shot_json_unit *unit, shot_error *error) {
    return is_sample(self, unit) || fits_columns(self, unit)
               ? tell_row(self, unit, error)
               : shot_json_table_lines(self, unit, error);
}

/* The names of the samples that are held, or those that were said. */
static shot_status gather_names(shot_json_table *self, bool *any) {
    const shot_texts *said = &self->settings->names;
    size_t number;
    *any = false;
    for (size_t i = 0; i < said->count; i++)
        SHOT_TRY(shot_text_index_add(&self->names,
                                     (shot_cell){said->items[i], strlen(said->items[i])}, &number));
    for (size_t u = 0; u < self->held_count; u++) {
        const shot_json_unit *unit = &self->held[u];
        bool sample = is_sample(self, unit);
        *any = *any || sample;
        for (size_t i = 0; i < unit->count && sample && said->count == 0; i++)
            SHOT_TRY(shot_text_index_add(&self->names, shot_json_unit_name(unit, i), &number));
    }
    return titles_in_cells(self);
}

/* The first samples are there: make the header, and take them in their order. */
static shot_status settle(shot_json_table *self, shot_error *error) {
    bool any;
    size_t first = 0;
    SHOT_TRY(gather_names(self, &any));
    while (any && first < self->held_count && !is_sample(self, &self->held[first]))
        SHOT_TRY(shot_json_table_lines(self, &self->held[first++], error));
    if (any)
        SHOT_TRY(say_header(self, self->held[first].line, "", 0, error));
    self->headed = any;
    for (size_t u = first; u < self->held_count; u++)
        SHOT_TRY(take_unit(self, &self->held[u], error));
    self->held_count = 0;
    if (!any)
        forget_header(self);
    return SHOT_OK;
}

shot_status shot_json_table_sample(shot_json_table *self, shot_json_unit *unit, shot_error *error) {
    if (self->headed)
        return take_unit(self, unit, error);
    shot_json_unit *place = &self->held[self->held_count++], room = *place;
    *place = *unit;
    *unit = room;
    shot_json_unit_clear(unit);
    return self->held_count == SHOT_JSON_LOOK_AHEAD ? settle(self, error) : SHOT_OK;
}

shot_status shot_json_table_end(shot_json_table *self, shot_error *error) {
    if (!self->headed && self->held_count > 0)
        SHOT_TRY(settle(self, error));
    bool headed = self->headed;
    forget_header(self);
    return headed ? self->target->calls->end(self->target, error) : SHOT_OK;
}

/* --------------------------------------------------------------------------------- columns --- */

/* How much all lists of the unit have in their names before a point. */
static size_t shared_by_lists(const shot_json_unit *unit) {
    const shot_cell *first = NULL;
    shot_cell pair[2];
    size_t shared = (size_t)-1;
    for (size_t i = 0; i < unit->count; i++) {
        if (!unit->fields[i].list)
            continue;
        pair[first != NULL] = shot_json_unit_name(unit, i);
        if (first != NULL) {
            size_t with = shared_start(pair, 2);
            shared = with < shared ? with : shared;
        }
        first = &pair[0];
    }
    return shared == (size_t)-1 ? 0 : shared;
}

/* The list that is the clock; `unit->count` if there is none. */
static size_t clock_list(const shot_json_table *self, const shot_json_unit *unit) {
    size_t shared = shared_by_lists(unit);
    for (size_t i = 0; i < unit->count; i++) {
        shot_cell name = shot_json_unit_name(unit, i);
        shot_cell title = {name.text + shared, name.length - shared};
        if (unit->fields[i].list && (is_clock(self, title) || is_clock(self, name)))
            return i;
    }
    return unit->count;
}

bool shot_json_table_has_columns(const shot_json_table *self, const shot_json_unit *unit) {
    if (shot_json_is_export(unit))
        return true;
    for (size_t i = 0; i < unit->count; i++)
        if (unit->fields[i].list && has_number(unit, i))
            return clock_list(self, unit) < unit->count || self->settings->rate > 0;
    return false;
}

/* Rows are as many as the clock has readings, or as the longest list has values. */
static size_t row_count(const shot_json_table *self, const shot_json_unit *unit) {
    size_t clock = clock_list(self, unit), longest = 0;
    if (clock < unit->count)
        return unit->fields[clock].count;
    for (size_t i = 0; i < unit->count; i++)
        if (unit->fields[i].list && unit->fields[i].count > longest)
            longest = unit->fields[i].count;
    return longest;
}

/* A list that cannot be a column of so many rows is words about the whole, or a loss. */
static shot_status tell_odd_list(shot_json_table *self, const shot_json_unit *unit, size_t field,
                                 size_t rows, shot_error *error) {
    if (!has_number(unit, field))
        return tell_field(self, unit, field, error);
    char text[200];
    shot_cell name = shot_json_unit_name(unit, field);
    snprintf(text, sizeof text, "the list '%.*s' has %zu values, the clock %zu",
             name.length > 60 ? 60 : (int)name.length, name.text, unit->fields[field].count, rows);
    shot_foreign_table_lose(self->table, text);
    return SHOT_OK;
}

/* The name of each column, single values told before; the one that tells shots apart is a column
 * of one value. */
static shot_status gather_columns(shot_json_table *self, const shot_json_unit *unit, size_t rows,
                                  size_t *fields, shot_error *error) {
    for (size_t i = 0; i < unit->count; i++) {
        shot_cell name = shot_json_unit_name(unit, i);
        bool by = self->settings->by != NULL && same_as(name, self->settings->by);
        bool column =
            unit->fields[i].list && (unit->fields[i].count == rows || has_number(unit, i));
        if (!column && !by) {
            SHOT_TRY(tell_field(self, unit, i, error));
            continue;
        }
        if (column && unit->fields[i].count != rows)
            SHOT_TRY(tell_odd_list(self, unit, i, rows, error));
        size_t number;
        const size_t before = self->names.count;
        SHOT_TRY(shot_text_index_add(&self->names, name, &number));
        if (self->names.count == before)
            tell_twice(self, unit, name);
        fields[number] = i;
    }
    return SHOT_OK;
}

static shot_status tell_columns(shot_json_table *self, const shot_json_unit *unit, size_t rows,
                                const size_t *fields, shot_error *error) {
    SHOT_TRY(say_header(self, unit->line, "", 0, error));
    for (size_t r = 0; r < rows; r++) {
        shot_text_clear(&self->line);
        for (size_t c = 0; c < self->names.count; c++) {
            size_t index = unit->fields[fields[c]].list ? r : 0;
            self->cells[c] = shot_json_unit_value(unit, fields[c], index);
            SHOT_TRY(shot_text_add(&self->line, c > 0 ? "," : ""));
            SHOT_TRY(shot_text_add_bytes(&self->line, self->cells[c].text, self->cells[c].length));
        }
        shot_record row = {.cells = self->cells,
                           .count = self->names.count,
                           .line = unit->line,
                           .text = self->line.bytes,
                           .length = self->line.length};
        SHOT_TRY(self->target->calls->row(self->target, &row, error));
    }
    return self->target->calls->end(self->target, error);
}

shot_status shot_json_table_columns(shot_json_table *self, const shot_json_unit *unit,
                                    shot_error *error) {
    SHOT_TRY(shot_json_table_end(self, error));
    if (shot_json_is_export(unit))
        return shot_json_export_tell(unit, self->target, error);
    size_t rows = row_count(self, unit);
    size_t *fields = calloc(unit->count + 1, sizeof *fields);
    shot_status status =
        fields != NULL ? gather_columns(self, unit, rows, fields, error) : SHOT_ERR_MEMORY;
    if (status == SHOT_OK)
        status = titles_in_cells(self);
    if (status == SHOT_OK)
        status = tell_columns(self, unit, rows, fields, error);
    free(fields);
    forget_header(self);
    return status;
}

void shot_json_table_free(shot_json_table *self) {
    for (size_t i = 0; i < SHOT_JSON_LOOK_AHEAD; i++)
        shot_json_unit_free(&self->held[i]);
    shot_text_index_free(&self->names);
    shot_text_free(&self->line);
    free(self->cells);
    shot_metadata_free(&self->metadata);
}
