/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The text of one cell of a foreign table, read as a number. */
#ifndef SHOT_STREAM_CELL_TEXT_H
#define SHOT_STREAM_CELL_TEXT_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/status.h>
#include <shottrace/trace/text.h>

/* A cell: its text without quotes, not terminated. */
typedef struct shot_cell {
    const char *text;
    size_t length;
} shot_cell;

/* A number as it stood in a cell. */
typedef struct shot_cell_number {
    bool found; /* false: the cell is no number, and the rest means nothing */
    double value;
    char mark;              /* before its fraction: '.', ',', or 0 if it has none */
    const char *text, *end; /* it, with a point: in the cell, or in the scratch text */
} shot_cell_number;

/* The cell without the blanks around it, those that break no line among them. */
shot_cell shot_cell_trimmed(const shot_cell *cell);

/* A cell of nothing but dashes, however many: no value. */
bool shot_cell_is_dashes(const shot_cell *cell);

/* A date, with a time of day or without, in whatever order: digits first, then no more than digits,
 * blanks, AM or PM and - / . : between, at least two of these signs. */
bool shot_cell_is_date(const shot_cell *cell);

/* Read a cell that is a number and nothing else, blanks around it aside.  A number with a decimal
 * comma is rewritten in `scratch`.  SHOT_ERR_MEMORY if that cannot grow. */
shot_status shot_cell_read_number(const shot_cell *cell, shot_text *scratch, shot_cell_number *out);

/* "1.000" may be a thousand: one to three digits, the first no 0, and three behind the mark. */
bool shot_cell_may_be_thousands(const shot_cell_number *number);

#endif
