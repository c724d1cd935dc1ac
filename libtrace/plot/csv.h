/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A table with a header line, as RFC 4180 has it, in memory. */
#ifndef SHOT_PLOT_CSV_H
#define SHOT_PLOT_CSV_H

#include <stdbool.h>

#include <shottrace/trace/text.h>

typedef struct plot_csv {
    char *bytes;          /* all cells, each with a NUL behind it */
    char **cells;         /* [rows * columns]; the first row is the header */
    size_t columns, rows; /* rows without the header */
} plot_csv;

/* Read a table; rows that are short are filled up with empty cells.  SHOT_ERR_SYNTAX with a
 * sentence where a row has too many, or a quote is not closed. Free with plot_csv_free, also after
 * that. */
shot_status plot_csv_read(const shot_text *text, plot_csv *out, shot_error *error);
void plot_csv_free(plot_csv *csv);

/* The column of that name, or csv->columns. */
size_t plot_csv_column(const plot_csv *csv, const char *name);
/* A cell; "" where the column is not there. */
const char *plot_csv_text(const plot_csv *csv, size_t row, size_t column);
/* A cell as a number; NaN where it is none. */
double plot_csv_number(const plot_csv *csv, size_t row, size_t column);

#endif
