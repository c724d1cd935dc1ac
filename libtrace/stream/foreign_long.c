/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From long to wide. */
#include "stream/foreign_long.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "room.h"
#include "stream/held_records.h"
#include "stream/text_index.h"
#include "plain_format.h"

#define NONE ((size_t)-1)

/* A value: of which row and name, and its text in `texts`. */
typedef struct reading {
    size_t row, name, start, length;
} reading;

typedef struct foreign_long {
    shot_table_target target;
    const struct shot_read_settings *settings;
    shot_foreign_table *table;
    shot_table_target *next;

    shot_held_records titles;
    size_t name, value, unit, by; /* places of these columns; NONE if there is none */
    size_t others;                /* how many columns there are besides */

    shot_text_index names;
    shot_held_records units; /* of each name: one cell */
    shot_held_records rows;  /* the cells of the other columns */
    reading *readings;
    size_t count, room;
    shot_text texts;
    shot_cell *cells; /* of the row that is handed on */
} foreign_long;

static foreign_long *long_of(shot_table_target *target) {
    return (foreign_long *)target;
}

/* -------------------------------------------------------------------------------- columns ---- */

static size_t column_named(const shot_record *titles, const char *name) {
    for (size_t i = 0; name != NULL && i < titles->count; i++) {
        shot_cell title = shot_cell_trimmed(&titles->cells[i]);
        if (strlen(name) == title.length && strncasecmp(name, title.text, title.length) == 0)
            return i;
    }
    return NONE;
}

static bool is_other(const foreign_long *self, size_t column) {
    return column != self->name && column != self->value && column != self->unit;
}

static shot_status find_columns(foreign_long *self, shot_error *error) {
    const struct shot_read_settings *said = self->settings;
    const shot_record *titles = &self->titles.items[0];
    const char *const wanted[] = {said->name_column, said->value_column, said->unit_column};
    size_t *const places[] = {&self->name, &self->value, &self->unit};
    for (int i = 0; i < 3; i++) {
        *places[i] = column_named(titles, wanted[i]);
        if (*places[i] == NONE && wanted[i] != NULL) {
            if (error != NULL)
                error->line = titles->line;
            return shot_fail(error, SHOT_ERR_DATA, "there is no column '%s' for the long form",
                             wanted[i]);
        }
    }
    self->by = column_named(titles, said->by);
    self->others = 0;
    for (size_t i = 0; i < titles->count; i++)
        self->others += is_other(self, i);
    return SHOT_OK;
}

/* --------------------------------------------------------------------------------- handing on - */

static shot_status say_header(foreign_long *self, shot_error *error) {
    const shot_record *titles = &self->titles.items[0];
    shot_text wide = {0};
    size_t place = 0;
    for (size_t i = 0; i < titles->count; i++)
        if (is_other(self, i))
            self->cells[place++] = titles->cells[i];
    shot_status status = SHOT_OK;
    for (size_t n = 0; n < self->names.count && status == SHOT_OK; n++) {
        shot_cell name = shot_text_index_text(&self->names, n);
        shot_cell unit = self->units.items[n].cells[0];
        size_t start = wide.length;
        status = shot_text_add_bytes(&wide, name.text, name.length);
        if (status == SHOT_OK && unit.length > 0)
            status = shot_text_add_format(&wide, " [%.*s]", (int)unit.length, unit.text);
        self->cells[place++] = (shot_cell){NULL, wide.length - start};
    }
    for (size_t n = 0, at = 0; n < self->names.count && status == SHOT_OK; n++) {
        shot_cell *title = &self->cells[self->others + n];
        title->text = wide.bytes + at;
        at += title->length;
    }
    shot_record header = {.cells = self->cells,
                          .count = self->others + self->names.count,
                          .line = titles->line,
                          .text = titles->text,
                          .length = titles->length};
    if (status == SHOT_OK)
        status = self->next->calls->header(self->next, &header, NULL, error);
    shot_text_free(&wide);
    return status;
}

static shot_status hand_on_rows(foreign_long *self, shot_error *error) {
    size_t at = 0;
    for (size_t r = 0; r < self->rows.count; r++) {
        shot_record row = self->rows.items[r];
        memcpy(self->cells, row.cells, self->others * sizeof *row.cells);
        for (size_t n = 0; n < self->names.count; n++)
            self->cells[self->others + n] = (shot_cell){"", 0};
        for (; at < self->count && self->readings[at].row == r; at++) {
            const reading *one = &self->readings[at];
            self->cells[self->others + one->name] =
                (shot_cell){self->texts.bytes + one->start, one->length};
        }
        row.cells = self->cells;
        row.count = self->others + self->names.count;
        SHOT_TRY(self->next->calls->row(self->next, &row, error));
    }
    return SHOT_OK;
}

/* All readings of a table, or of a shot of it, are there. */
static shot_status hand_on(foreign_long *self, shot_error *error) {
    if (self->rows.count == 0)
        return SHOT_OK;
    free(self->cells);
    self->cells = calloc(self->others + self->names.count + 1, sizeof *self->cells);
    if (self->cells == NULL)
        return SHOT_ERR_MEMORY;
    SHOT_TRY(say_header(self, error));
    SHOT_TRY(hand_on_rows(self, error));
    shot_text_index_clear(&self->names);
    shot_held_records_clear(&self->units);
    shot_held_records_clear(&self->rows);
    shot_text_clear(&self->texts);
    self->count = 0;
    return SHOT_OK;
}

/* -------------------------------------------------------------------------------- readings --- */

static bool same(shot_cell a, shot_cell b) {
    return a.length == b.length && (a.length == 0 || memcmp(a.text, b.text, a.length) == 0);
}

static const shot_record *last_row(const foreign_long *self) {
    return self->rows.count > 0 ? &self->rows.items[self->rows.count - 1] : NULL;
}

/* The cells of the other columns, in self->cells as room for them. */
static void pick_others(foreign_long *self, const shot_record *record) {
    size_t place = 0;
    for (size_t i = 0; i < self->titles.items[0].count; i++)
        if (is_other(self, i))
            self->cells[place++] = shot_cell_trimmed(&record->cells[i]);
}

static bool agrees_with_last(const foreign_long *self) {
    const shot_record *last = last_row(self);
    for (size_t i = 0; last != NULL && i < self->others; i++)
        if (!same(self->cells[i], last->cells[i]))
            return false;
    return last != NULL;
}

/* True if the last row has a value of that name already. */
static bool has_value(const foreign_long *self, size_t name) {
    for (size_t i = self->count; i > 0 && self->readings[i - 1].row + 1 == self->rows.count; i--)
        if (self->readings[i - 1].name == name)
            return true;
    return false;
}

static shot_status number_name(foreign_long *self, const shot_record *record, size_t *number) {
    size_t before = self->names.count;
    SHOT_TRY(
        shot_text_index_add(&self->names, shot_cell_trimmed(&record->cells[self->name]), number));
    if (self->names.count == before)
        return SHOT_OK;
    shot_cell unit = {"", 0};
    if (self->unit != NONE)
        unit = shot_cell_trimmed(&record->cells[self->unit]);
    shot_record held = {.cells = &unit, .count = 1, .text = ""};
    return shot_held_records_add(&self->units, &held);
}

static shot_status add_reading(foreign_long *self, size_t name, shot_cell value) {
    reading *readings =
        room_for_more(self->readings, self->count, &self->room, 64, sizeof *readings);
    if (readings == NULL)
        return SHOT_ERR_MEMORY;
    self->readings = readings;
    self->readings[self->count++] =
        (reading){self->rows.count - 1, name, self->texts.length, value.length};
    return shot_text_add_bytes(&self->texts, value.text, value.length);
}

/* The place of the column that tells shots apart among the other columns. */
static size_t by_place(const foreign_long *self) {
    size_t place = 0;
    for (size_t i = 0; i < self->by; i++)
        place += is_other(self, i);
    return place;
}

static bool is_next_shot(const foreign_long *self) {
    const shot_record *last = last_row(self);
    if (self->by == NONE || last == NULL)
        return false;
    size_t place = by_place(self);
    return !same(self->cells[place], last->cells[place]);
}

/* ---------------------------------------------------------------------------------- target --- */

static shot_status line(shot_table_target *target, const char *key, const char *value,
                        shot_error *error) {
    foreign_long *self = long_of(target);
    return self->next->calls->line(self->next, key, value, error);
}

static shot_status header(shot_table_target *target, const shot_record *titles,
                          const shot_record *units, shot_error *error) {
    foreign_long *self = long_of(target);
    SHOT_TRY(hand_on(self, error));
    shot_held_records_clear(&self->titles);
    SHOT_TRY(shot_held_records_add(&self->titles, titles));
    free(self->cells);
    self->cells = calloc(titles->count + 1, sizeof *self->cells);
    return self->cells != NULL ? find_columns(self, error) : SHOT_ERR_MEMORY;
}

static shot_status reject_short(foreign_long *self, const shot_record *record, shot_error *error) {
    shot_error own = {0};
    error = error != NULL ? error : &own;
    shot_fail(error, SHOT_ERR_SYNTAX, "the row has %zu field%s, the header %zu", record->count,
              shot_plural(record->count), self->titles.items[0].count);
    return shot_foreign_table_reject(self->table, record, error);
}

static shot_status row(shot_table_target *target, const shot_record *record, shot_error *error) {
    foreign_long *self = long_of(target);
    size_t columns = self->titles.items[0].count, name;
    if (record->count < columns)
        return reject_short(self, record, error);
    pick_others(self, record);
    if (is_next_shot(self)) {
        SHOT_TRY(hand_on(self, error));
        pick_others(self, record);
    }
    SHOT_TRY(number_name(self, record, &name));
    if (!agrees_with_last(self) || has_value(self, name)) {
        shot_record others = *record;
        others.cells = self->cells;
        others.count = self->others;
        SHOT_TRY(shot_held_records_add(&self->rows, &others));
    }
    return add_reading(self, name, shot_cell_trimmed(&record->cells[self->value]));
}

static shot_status end(shot_table_target *target, shot_error *error) {
    foreign_long *self = long_of(target);
    SHOT_TRY(hand_on(self, error));
    return self->next->calls->end(self->next, error);
}

static void release(shot_table_target *target) {
    foreign_long *self = long_of(target);
    shot_held_records_free(&self->titles);
    shot_held_records_free(&self->units);
    shot_held_records_free(&self->rows);
    shot_text_index_free(&self->names);
    shot_text_free(&self->texts);
    free(self->readings);
    free(self->cells);
    free(self);
}

static const shot_table_target_calls calls = {line, header, row, end, release};

shot_status shot_foreign_long_new(const struct shot_read_settings *settings,
                                  shot_foreign_table *table, shot_table_target *next,
                                  shot_table_target **out) {
    foreign_long *self = calloc(1, sizeof *self);
    *out = self != NULL ? &self->target : NULL;
    if (self == NULL)
        return SHOT_ERR_MEMORY;
    self->target.calls = &calls;
    self->settings = settings;
    self->table = table;
    self->next = next;
    self->name = self->value = self->unit = self->by = NONE;
    return SHOT_OK;
}
