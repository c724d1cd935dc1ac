/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether the clock of a foreign table is coarser than its rows. */
#include "stream/foreign_coarse.h"

#include <stdlib.h>
#include <string.h>

/* In a value that both have: two devices that take turns in a table have none, and their rows of
 * one time are one. */
static bool differ(const shot_foreign_columns *columns, const shot_record *a,
                   const shot_record *b) {
    for (size_t c = 0; c < columns->count && c < a->count && c < b->count; c++) {
        const shot_cell one = shot_cell_trimmed(&a->cells[c]);
        const shot_cell other = shot_cell_trimmed(&b->cells[c]);
        if (columns->items[c].use == SHOT_USE_VALUE && one.length > 0 && other.length > 0 &&
            (one.length != other.length || memcmp(one.text, other.text, one.length) != 0))
            return true;
    }
    return false;
}

/* A row has a value in each column that has one anywhere in the first rows. */
static bool is_full(const shot_foreign_columns *columns, const shot_record *row) {
    for (size_t c = 0; c < columns->count; c++)
        if (columns->items[c].use == SHOT_USE_VALUE &&
            (c >= row->count || shot_cell_trimmed(&row->cells[c]).length == 0))
            return false;
    return true;
}

/* Up to the first row without a reading, or not full. */
static shot_status read_all(const shot_foreign_clock *clock, const shot_foreign_columns *columns,
                            const shot_held_records *rows, shot_foreign_cells *cells,
                            double *readings, bool *differs, size_t *count) {
    shot_foreign_clock own = *clock;
    for (*count = 0; *count < rows->count; ++*count) {
        const shot_record *row = &rows->items[*count];
        shot_decimal seconds;
        shot_clock_leap leap;
        bool readable = row->count > own.column && is_full(columns, row);
        if (readable)
            SHOT_TRY(shot_foreign_clock_read(&own, row, cells, &seconds, &leap, &readable, NULL));
        if (!readable)
            return SHOT_OK;
        readings[*count] = shot_decimal_value(&seconds);
        differs[*count] = *count > 0 && differ(columns, row, row - 1);
    }
    return SHOT_OK;
}

shot_status shot_foreign_coarse_settle(shot_coarse_clock *coarse, const shot_foreign_clock *clock,
                                       const shot_foreign_columns *columns,
                                       const shot_held_records *rows, shot_foreign_cells *cells,
                                       shot_text *reasons) {
    *coarse = (shot_coarse_clock){0};
    if (clock->column == SHOT_NO_COLUMN || columns->literal)
        return SHOT_OK;
    double *readings = malloc((rows->count + 1) * sizeof *readings);
    bool *differs = malloc((rows->count + 1) * sizeof *differs);
    size_t count;
    shot_status status = readings != NULL && differs != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
    if (status == SHOT_OK)
        status = read_all(clock, columns, rows, cells, readings, differs, &count);
    if (status == SHOT_OK)
        shot_coarse_clock_settle(coarse, readings, differs, count);
    free(readings);
    free(differs);
    if (status == SHOT_OK && coarse->rows > 0)
        status = shot_text_add_format(reasons,
                                      "clock: whole seconds, each with about %.3g rows: these are "
                                      "spread over it\n",
                                      coarse->rows);
    return status;
}
