/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shape of a JSON log: which objects are rows, which lists are columns. */
#include "stream/foreign_json.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "stream/json_table.h"
#include "stream/json_text.h"

/* An object or list that is open.  A unit is an object at the top or in a list, or a list in a
 * list; all that it holds, but for units in lists of its own, are its fields. */
typedef struct level {
    bool object, unit;
    bool fields; /* a list whose values belong to the last field */
    bool units;  /* a list with units in it */
    size_t path; /* length of the path of names, here and at the start of the unit around */
    size_t unit_start;
} level;

struct shot_foreign_json {
    const struct shot_read_settings *settings;
    shot_foreign_table *table;
    shot_json_table rows;
    shot_json *text;

    level levels[SHOT_JSON_DEPTH];
    size_t depth;
    shot_text path;
    size_t unit_start; /* where the names of the unit begin in the path */
    shot_json_unit unit;
    shot_json_unit titles; /* the last list of words: perhaps of the lists of lists behind it */
    bool rows_open;        /* rows came whose table has not ended: their unit may say more */
    size_t strays;         /* values in no object */
    size_t whole;          /* values at the top that are complete */
};

/* ---------------------------------------------------------------------------------- fields --- */

static level *top(shot_foreign_json *self) {
    return self->depth > 0 ? &self->levels[self->depth - 1] : NULL;
}

static void cut_path(shot_foreign_json *self, size_t length) {
    if (self->path.bytes != NULL) {
        self->path.length = length;
        self->path.bytes[length] = '\0';
    }
}

static shot_status enter_key(shot_foreign_json *self, const shot_json_event *event) {
    cut_path(self, top(self)->path);
    if (self->path.length > self->unit_start)
        SHOT_TRY(shot_text_add(&self->path, "."));
    return shot_text_add_bytes(&self->path, event->text, event->length);
}

static shot_status add_field(shot_foreign_json *self, bool list) {
    return shot_json_unit_add_field(&self->unit, self->path.bytes + self->unit_start,
                                    self->path.length - self->unit_start, list);
}

/* The title of the next value of a list that is a row: its word in the list of titles, or its
 * number. */
static shot_status add_numbered_field(shot_foreign_json *self, shot_error *error) {
    const shot_texts *said = &self->settings->names;
    size_t at = self->unit.count;
    shot_cell name = {NULL, 0};
    if (at < said->count)
        name = (shot_cell){said->items[at], strlen(said->items[at])};
    else if (said->count == 0 && self->titles.count > 0 && at < self->titles.fields[0].count)
        name = shot_json_unit_value(&self->titles, 0, at);
    else
        return shot_fail(error, SHOT_ERR_SYNTAX,
                         "value %zu of a list of values has no title; name them with --names "
                         "time,...",
                         at + 1);
    return shot_json_unit_add_field(&self->unit, name.text, name.length, false);
}

static shot_status take_value(shot_foreign_json *self, const shot_json_event *event,
                              shot_error *error) {
    const level *around = top(self);
    if (around == NULL || !(around->object || around->unit || around->fields)) {
        self->strays++;
        return SHOT_OK;
    }
    if (around->object)
        SHOT_TRY(add_field(self, false));
    else if (around->unit)
        SHOT_TRY(add_numbered_field(self, error));
    size_t length = event->kind == SHOT_JSON_NULL ? 0 : event->length;
    return shot_json_unit_add_value(&self->unit, event->text, length);
}

/* ----------------------------------------------------------------------------------- units --- */

/* Lists of words may be the titles of the lists of lists that follow. */
static shot_status remember_titles(shot_foreign_json *self) {
    for (size_t i = 0; i < self->unit.count; i++) {
        if (!self->unit.fields[i].list || self->unit.fields[i].count < 2)
            continue;
        shot_json_unit_clear(&self->titles);
        SHOT_TRY(shot_json_unit_add_field(&self->titles, "", 0, true));
        for (size_t k = 0; k < self->unit.fields[i].count; k++) {
            shot_cell word = shot_json_unit_value(&self->unit, i, k);
            SHOT_TRY(shot_json_unit_add_value(&self->titles, word.text, word.length));
        }
    }
    return SHOT_OK;
}

/* What a unit has said before units within it: columns, or lines about them. */
static shot_status tell_so_far(shot_foreign_json *self, shot_error *error) {
    if (self->unit.count == 0)
        return SHOT_OK;
    SHOT_TRY(remember_titles(self));
    shot_status status = shot_json_table_has_columns(&self->rows, &self->unit)
                             ? shot_json_table_columns(&self->rows, &self->unit, error)
                             : shot_json_table_lines(&self->rows, &self->unit, error);
    shot_json_unit_clear(&self->unit);
    return status;
}

static shot_status end_rows(shot_foreign_json *self, shot_error *error) {
    self->rows_open = false;
    return shot_json_table_end(&self->rows, error);
}

/* A unit in a list: the list is no field, and what stands before it is told. */
static shot_status begin_unit(shot_foreign_json *self, level *around, const shot_json_event *event,
                              shot_error *error) {
    if (around != NULL && around->fields && self->unit.count > 0 &&
        self->unit.fields[self->unit.count - 1].count == 0)
        self->unit.count--;
    if (around != NULL && !around->units && self->rows_open)
        SHOT_TRY(end_rows(self, error));
    SHOT_TRY(tell_so_far(self, error));
    if (around != NULL) {
        around->fields = false;
        around->units = true;
    }
    self->unit_start = self->path.length;
    self->unit.line = event->line;
    shot_json_forget(self->text);
    return SHOT_OK;
}

static bool has_list(const shot_json_unit *unit) {
    for (size_t i = 0; i < unit->count; i++)
        if (unit->fields[i].list)
            return true;
    return false;
}

static shot_status end_unit(shot_foreign_json *self, bool holds_units, shot_error *error) {
    if (self->unit.count == 0)
        return SHOT_OK;
    if (shot_json_table_has_columns(&self->rows, &self->unit) || holds_units)
        return tell_so_far(self, error);
    const char *text;
    size_t length, line;
    shot_json_text(self->text, &text, &length, &line);
    SHOT_TRY(shot_text_add_bytes(&self->unit.text, text, length));
    if (has_list(&self->unit))
        SHOT_TRY(remember_titles(self));
    shot_status status = shot_json_table_sample(&self->rows, &self->unit, error);
    shot_json_unit_clear(&self->unit);
    return status;
}

/* ---------------------------------------------------------------------------------- levels --- */

static shot_status open_level(shot_foreign_json *self, const shot_json_event *event,
                              shot_error *error) {
    level *around = top(self);
    bool object = event->kind == SHOT_JSON_OBJECT;
    bool in_list = around != NULL && !around->object;
    level new_level = {.object = object, .unit_start = self->unit_start};
    new_level.unit = object ? around == NULL || in_list : in_list;
    if (new_level.unit)
        SHOT_TRY(begin_unit(self, around, event, error));
    else if (!object && around != NULL) {
        SHOT_TRY(add_field(self, true));
        new_level.fields = true;
    }
    new_level.path = self->path.length;
    self->levels[self->depth++] = new_level;
    return SHOT_OK;
}

/* The unit in which the level lies. */
static level *unit_around(shot_foreign_json *self) {
    for (size_t i = self->depth; i > 0; i--)
        if (self->levels[i - 1].unit)
            return &self->levels[i - 1];
    return NULL;
}

/* Rows end with the unit that they lie in, or with their list where that lies in none. */
static shot_status close_level(shot_foreign_json *self, shot_error *error) {
    level closed = self->levels[--self->depth];
    if (closed.unit) {
        SHOT_TRY(end_unit(self, closed.units, error));
        self->unit_start = closed.unit_start;
    }
    cut_path(self, closed.path);
    if (!closed.units)
        return SHOT_OK;
    self->rows_open = true;
    level *around = unit_around(self);
    if (around != NULL)
        around->units = true;
    return around == NULL || closed.unit ? end_rows(self, error) : SHOT_OK;
}

static shot_status take(void *user, const shot_json_event *event, shot_error *error) {
    shot_foreign_json *self = user;
    shot_status status;
    switch (event->kind) {
    case SHOT_JSON_OBJECT:
    case SHOT_JSON_ARRAY:
        status = open_level(self, event, error);
        break;
    case SHOT_JSON_OBJECT_END:
    case SHOT_JSON_ARRAY_END:
        status = close_level(self, error);
        break;
    case SHOT_JSON_KEY:
        return enter_key(self, event);
    default:
        status = take_value(self, event, error);
    }
    self->whole += self->depth == 0;
    if (status != SHOT_OK && error != NULL && error->line == 0)
        error->line = event->line;
    return status;
}

/* A bad line among JSON lines is a row that cannot be read; a single text ends there. */
static shot_status bad(void *user, shot_error *error) {
    shot_foreign_json *self = user;
    shot_status code = error->code;
    self->depth = self->unit_start = 0;
    cut_path(self, 0);
    shot_json_unit_clear(&self->unit);
    if (self->whole == 0) {
        shot_error own = {0};
        shot_foreign_table_cut(self->table);
        shot_json_table_end(&self->rows, &own); /* what came before it is handed on */
        return code;
    }
    shot_record record = {.count = 0};
    size_t length;
    shot_json_text(self->text, &record.text, &length, &record.line);
    const char *end = memchr(record.text, '\n', length);
    record.length = end != NULL ? (size_t)(end - record.text) : length;
    return shot_foreign_table_reject(self->table, &record, error);
}

/* ----------------------------------------------------------------------------------- whole --- */

shot_status shot_foreign_json_new(const struct shot_read_settings *settings,
                                  shot_foreign_table *table, shot_table_target *target,
                                  shot_foreign_json **out) {
    shot_foreign_json *self = calloc(1, sizeof *self);
    *out = self;
    if (self == NULL)
        return SHOT_ERR_MEMORY;
    self->settings = self->rows.settings = settings;
    self->table = self->rows.table = table;
    self->rows.target = target;
    shot_json_calls calls = {take, bad, self};
    return shot_json_new(&calls, &self->text);
}

shot_status shot_foreign_json_push(shot_foreign_json *self, const char *bytes, size_t count,
                                   shot_error *error) {
    return shot_json_push(self->text, bytes, count, error);
}

shot_status shot_foreign_json_finish(shot_foreign_json *self, shot_error *error) {
    SHOT_TRY(shot_json_finish(self->text, error));
    if (self->strays > 0) {
        char text[80];
        snprintf(text, sizeof text, "%zu value%s in no object", self->strays,
                 self->strays == 1 ? " stands" : "s stand");
        shot_foreign_table_lose(self->table, text);
    }
    return shot_json_table_end(&self->rows, error);
}

void shot_foreign_json_free(shot_foreign_json *self) {
    if (self == NULL)
        return;
    shot_json_table_free(&self->rows);
    shot_json_free(self->text);
    shot_text_free(&self->path);
    shot_json_unit_free(&self->unit);
    shot_json_unit_free(&self->titles);
    free(self);
}
