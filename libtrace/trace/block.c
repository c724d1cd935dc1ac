/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows of samples, column by column. */
#include <shottrace/trace/block.h>

#include <stdlib.h>
#include <string.h>

#include "trace/transposed.h"

/* Rows that a column has room for at first: few, since a table may have a million columns. */
enum { FIRST_ROOM = 8 };

shot_status shot_rows_init(shot_rows *rows, size_t columns) {
    *rows = (shot_rows){.columns = columns};
    rows->column = calloc(columns ? columns : 1, sizeof *rows->column);
    rows->store = calloc(columns ? columns : 1, sizeof *rows->store);
    if (rows->column != NULL && rows->store != NULL)
        return SHOT_OK;
    shot_rows_free(rows);
    return SHOT_ERR_MEMORY;
}

static void compact(shot_rows *rows) {
    for (size_t c = 0; c < rows->columns; c++) {
        if (rows->rows > 0 && rows->dropped > 0)
            memmove(rows->store[c], rows->column[c], rows->rows * sizeof(double));
        rows->column[c] = rows->store[c];
    }
    rows->dropped = 0;
}

static shot_status grow(shot_rows *rows, size_t room) {
    for (size_t c = 0; c < rows->columns; c++) {
        double *store = realloc(rows->store[c], room * sizeof *store);
        if (store == NULL)
            return SHOT_ERR_MEMORY;
        rows->store[c] = store;
        rows->column[c] = store + rows->dropped;
    }
    rows->room = room;
    return SHOT_OK;
}

shot_status shot_rows_reserve(shot_rows *rows, size_t more) {
    if (rows->dropped + rows->rows + more <= rows->room)
        return SHOT_OK;
    /* Moving the held rows to the front pays when at least as many were dropped as are held. */
    if (rows->dropped >= rows->rows) {
        compact(rows);
        if (rows->rows + more <= rows->room)
            return SHOT_OK;
    }
    size_t room = rows->room ? rows->room : FIRST_ROOM;
    while (room < rows->dropped + rows->rows + more)
        room *= 2;
    return grow(rows, room);
}

shot_status shot_rows_append(shot_rows *rows, const shot_block *block) {
    if (block->columns != rows->columns)
        return SHOT_ERR_RANGE;
    SHOT_TRY(shot_rows_reserve(rows, block->rows));
    if (block->rows > 0)
        for (size_t c = 0; c < rows->columns; c++)
            memcpy(rows->column[c] + rows->rows, block->column[c], block->rows * sizeof(double));
    rows->rows += block->rows;
    return SHOT_OK;
}

shot_status shot_rows_append_one(shot_rows *rows, const shot_block *block, size_t index) {
    if (block->columns < rows->columns)
        return SHOT_ERR_RANGE;
    SHOT_TRY(shot_rows_reserve(rows, 1));
    for (size_t c = 0; c < rows->columns; c++)
        rows->column[c][rows->rows] = block->column[c][index];
    rows->rows++;
    return SHOT_OK;
}

shot_status shot_rows_append_row(shot_rows *rows, const double *values) {
    return shot_rows_append_rows(rows, values, 1);
}

shot_status shot_rows_append_rows(shot_rows *rows, const double *values, size_t count) {
    SHOT_TRY(shot_rows_reserve(rows, count));
    columns_of_rows(values, count, rows->columns, rows->column, rows->rows);
    rows->rows += count;
    return SHOT_OK;
}

void shot_rows_drop(shot_rows *rows, size_t count) {
    for (size_t c = 0; c < rows->columns && count > 0; c++)
        rows->column[c] += count;
    rows->rows -= count;
    rows->dropped += count;
}

void shot_rows_clear(shot_rows *rows) {
    rows->rows = 0;
    compact(rows);
}

shot_status shot_rows_restart(shot_rows *rows, size_t columns) {
    if (rows->store != NULL && rows->columns == columns) {
        shot_rows_clear(rows);
        return SHOT_OK;
    }
    shot_rows_free(rows);
    return shot_rows_init(rows, columns);
}

void shot_rows_free(shot_rows *rows) {
    for (size_t c = 0; rows->store != NULL && c < rows->columns; c++)
        free(rows->store[c]);
    free(rows->store);
    free(rows->column);
    *rows = (shot_rows){0};
}

shot_block shot_rows_front(const shot_rows *rows, size_t count) {
    return (shot_block){count, rows->columns, (const double *const *)rows->column};
}
