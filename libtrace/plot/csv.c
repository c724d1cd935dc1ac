/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A table with a header line. */
#include "plot/csv.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/number_text.h>

#include "room.h"

/* Cells are copied into csv->bytes without their quotes, so that they can only become shorter. */
typedef struct scanner {
    const char *at, *end;
    char *out;
    plot_csv *csv;
    size_t count, room; /* cells */
} scanner;

static shot_status add_cell(scanner *self, char *cell) {
    char **cells = room_for_more(self->csv->cells, self->count, &self->room, 256, sizeof *cells);
    if (cells == NULL)
        return SHOT_ERR_MEMORY;
    self->csv->cells = cells;
    self->csv->cells[self->count++] = cell;
    return SHOT_OK;
}

/* One field; self->at then stands at the comma or line break behind it, or at the end. */
static shot_status read_field(scanner *self, shot_error *error) {
    char *cell = self->out;
    bool quoted = self->at < self->end && *self->at == '"';
    self->at += quoted;
    for (; self->at < self->end; self->at++) {
        if (quoted && *self->at == '"') {
            if (self->at + 1 == self->end || self->at[1] != '"') {
                quoted = false;
                continue;
            }
            self->at++; /* two stand for one */
        } else if (!quoted && (*self->at == ',' || *self->at == '\n')) {
            break;
        } else if (!quoted && *self->at == '\r') {
            continue;
        }
        *self->out++ = *self->at;
    }
    if (quoted)
        return shot_fail(error, SHOT_ERR_SYNTAX, "the table ends inside a quoted field");
    *self->out++ = '\0';
    return add_cell(self, cell);
}

static shot_status fill_row(scanner *self, size_t found, size_t row, shot_error *error) {
    static char empty[] = "";
    plot_csv *csv = self->csv;
    if (row == 0)
        csv->columns = found;
    if (found > csv->columns)
        return shot_fail(error, SHOT_ERR_SYNTAX,
                         "line %zu of the table has %zu fields, its header %zu", row + 1, found,
                         csv->columns);
    for (; found < csv->columns; found++)
        SHOT_TRY(add_cell(self, empty));
    return SHOT_OK;
}

static shot_status read_row(scanner *self, size_t row, shot_error *error) {
    size_t found = 0;
    for (;;) {
        SHOT_TRY(read_field(self, error));
        found++;
        if (self->at == self->end || *self->at++ == '\n')
            return fill_row(self, found, row, error);
    }
}

shot_status plot_csv_read(const shot_text *text, plot_csv *out, shot_error *error) {
    *out = (plot_csv){.bytes = malloc(2 * text->length + 2)};
    if (out->bytes == NULL)
        return SHOT_ERR_MEMORY;
    scanner self = {text->bytes, text->bytes + text->length, out->bytes, out, 0, 0};
    size_t row = 0;
    while (self.at < self.end) {
        if (*self.at == '\n' || *self.at == '\r') {
            self.at++;
            continue;
        }
        SHOT_TRY(read_row(&self, row++, error));
    }
    out->rows = row > 0 ? row - 1 : 0;
    return SHOT_OK;
}

void plot_csv_free(plot_csv *csv) {
    free(csv->bytes);
    free(csv->cells);
    *csv = (plot_csv){0};
}

size_t plot_csv_column(const plot_csv *csv, const char *name) {
    for (size_t i = 0; i < csv->columns; i++)
        if (strcmp(csv->cells[i], name) == 0)
            return i;
    return csv->columns;
}

const char *plot_csv_text(const plot_csv *csv, size_t row, size_t column) {
    return column < csv->columns ? csv->cells[(row + 1) * csv->columns + column] : "";
}

double plot_csv_number(const plot_csv *csv, size_t row, size_t column) {
    const char *text = plot_csv_text(csv, row, column);
    const char *end = text + strlen(text);
    double value;
    return shot_number_read(text, end, &value) == end && isfinite(value) ? value : NAN;
}
