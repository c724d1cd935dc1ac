/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows of a foreign table that are headers: titles, units, and titles behind a row of numbers. */
#ifndef SHOT_STREAM_HEADER_ROW_H
#define SHOT_STREAM_HEADER_ROW_H

#include <stdbool.h>
#include <stddef.h>

#include "stream/dialect.h"
#include "stream/records.h"

/* True for a row without a number of which one cell is the title of time: a header. */
bool shot_row_is_header(const shot_record *row);

/* True for a row of which each cell may be a unit. */
bool shot_row_is_units(const shot_record *row);

/* Offsets in the text of a row. */
typedef struct shot_row_seam {
    size_t end;  /* of the row proper; 0 if there is none */
    size_t next; /* the first line of another file */
} shot_row_seam;

/* Where the first line of another file was joined to this row, as `cat` does when the file before
 * lacks its last line end: behind the last number of the row stand the titles of the table, other
 * titles, or a comment that is metadata.  Titles that stand there several times, since files
 * between had nothing else, count once.  False if there is no such place. */
bool shot_row_find_seam(const shot_record *row, const shot_record *titles,
                        const shot_dialect *dialect, shot_row_seam *seam);

#endif
