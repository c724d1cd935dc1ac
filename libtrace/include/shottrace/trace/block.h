/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows of samples, column by column.
 *
 * A shot_block is a view: it borrows its columns for the time of one call.  A shot_rows owns its
 * columns, grows at the end and gives way at the front: it is what a filter keeps its window or a
 * whole shot in.  Missing samples are NaN.
 */
#ifndef SHOTTRACE_TRACE_BLOCK_H
#define SHOTTRACE_TRACE_BLOCK_H

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_block {
    size_t rows, columns;
    const double *const *column; /* [columns][rows]; column[0] is time in s */
} shot_block;

typedef struct shot_rows {
    size_t rows, columns;
    double **column; /* [columns], each at the first row that is still held */
    double **store;  /* [columns], what was allocated */
    size_t room;     /* rows that store has room for */
    size_t dropped;  /* rows dropped at the front of store so far, not yet compacted */
} shot_rows;

/* A zeroed shot_rows is free; `init` gives it `columns` empty columns. */
SHOT_API shot_status shot_rows_init(shot_rows *rows, size_t columns);
/* Empty, with so many columns; the room of before is kept where the columns are as many. */
SHOT_API shot_status shot_rows_restart(shot_rows *rows, size_t columns);
/* Make room for `more` rows at the end: amortised constant time a row. */
SHOT_API shot_status shot_rows_reserve(shot_rows *rows, size_t more);
/* Append a block of the same number of columns. */
SHOT_API shot_status shot_rows_append(shot_rows *rows, const shot_block *block);
/* Append row `index` of a block of at least as many columns. */
SHOT_API shot_status shot_rows_append_one(shot_rows *rows, const shot_block *block, size_t index);
/* Append a row of `columns` values. */
SHOT_API shot_status shot_rows_append_row(shot_rows *rows, const double *values);
/* Append some, row after row.
 *   values  [count][columns] */
SHOT_API shot_status shot_rows_append_rows(shot_rows *rows, const double *values, size_t count);
/* Forget the first `count` rows (count <= rows). */
SHOT_API void shot_rows_drop(shot_rows *rows, size_t count);
/* Forget all rows and keep the room. */
SHOT_API void shot_rows_clear(shot_rows *rows);
SHOT_API void shot_rows_free(shot_rows *rows);

/* The first `count` of the rows held, as a block (count <= rows). */
SHOT_API shot_block shot_rows_front(const shot_rows *rows, size_t count);

#ifdef __cplusplus
}
#endif
#endif
