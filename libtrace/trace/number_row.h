/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A row of numbers as most programs write them. */
#ifndef SHOT_TRACE_NUMBER_ROW_H
#define SHOT_TRACE_NUMBER_ROW_H

#include <stddef.h>

#include "trace/number_lanes.h"

/* Reads `count` finite numbers, with one comma between two of them and a newline behind the last,
 * and nothing else; an empty field is NaN.  All numbers are read as shot_number_read does.
 *   text, end  the bytes that may be looked at; the more follow the row, the faster
 *   out        [count]
 * Returns the start of the next row, or NULL, with `out` in no certain state, where anything else
 * stands there, such as blanks, words, quotes or fewer or more fields: who reads on must look. */
const char *shot_number_row_read(const char *text, const char *end, double *out, size_t count);

/* Reads one or more rows, as many as come easily.
 *   out    [count], and at least [NUMBERS_AT_ONCE]; row after row
 *   *rows  how many there are
 * Returns the start of the next row, or NULL as shot_number_row_read does for the first one. */
const char *shot_number_rows_read(const char *text, const char *end, double *out, size_t count,
                                  size_t *rows);

/* Writes `rows` rows from `row` on of `count` columns, at least one, in the same form, each number
 * as shot_number_write does; what is not finite leaves its field empty.
 *   out  room for rows * count * (SHOT_NUMBER_ROOM + 1) bytes; no zero byte is added
 * Returns the end of what was written. */
char *shot_number_rows_write(char *out, const double *const *column, size_t count, size_t row,
                             size_t rows);

#endif
