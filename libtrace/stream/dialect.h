/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How a foreign table is written: what separates its fields, what its numbers look like, where it
 * starts.  Worked out from the first lines, each guess with its reason. */
#ifndef SHOT_STREAM_DIALECT_H
#define SHOT_STREAM_DIALECT_H

#include <stdbool.h>

#include <shottrace/status.h>
#include <shottrace/trace/text.h>

typedef enum shot_header_choice {
    SHOT_HEADER_GUESS,
    SHOT_HEADER_ROW,     /* the first row of the table names its columns */
    SHOT_HEADER_COMMENT, /* the comment line just before the first row does */
    SHOT_HEADER_NONE
} shot_header_choice;

/* A member that is 0 is not decided: to be guessed, or without evidence either way. */
typedef struct shot_dialect {
    char delimiter; /* ' ' stands for any run of blanks and tabs */
    char decimal;   /* '.' or ','; undecided where no number had a fraction */
    char comment;   /* lines that start with it are no rows; '\n' if there are none */
    shot_header_choice header;
    bool units_row;      /* the row behind the header holds units */
    size_t skipped;      /* physical lines before the header, or before the first row */
    bool skipped_chosen; /* `skipped` was said, not to be guessed */
    size_t columns;      /* fields of a row */
} shot_dialect;

/* Fill what `dialect` leaves open from the sample [text, text + length), which ends with a whole
 * line unless it is all there is (`all`).
 *   rows     how many rows of the table the sample holds: few rows make a weak guess
 *   reasons  a line for each guess is appended
 * Method: van den Burg, Nazabal & Sutton 2019, "Wrangling messy CSV files by detecting row and
 * type patterns", Data Mining and Knowledge Discovery 33: of all dialects take the one with the
 * largest product of pattern score (rows alike, many fields) and type score (cells that are
 * numbers, times, words); here the decimal mark is part of the dialect. */
shot_status shot_dialect_guess(const char *text, size_t length, bool all, shot_dialect *dialect,
                               size_t *rows, shot_text *reasons);

#endif
