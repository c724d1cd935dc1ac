/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers row after row, as they stand in text, out of columns and into columns. */
#ifndef SHOT_TRACE_TRANSPOSED_H
#define SHOT_TRACE_TRANSPOSED_H

#include <stddef.h>

/* out[r * columns + c] becomes column[c][r + from], for some rows. */
void rows_of_columns(const double *const *column, size_t columns, size_t from, size_t rows,
                     double *out);

/* column[c][r + from] becomes values[r * columns + c]. */
void columns_of_rows(const double *values, size_t rows, size_t columns, double *const *column,
                     size_t from);

#endif
