/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The header and the rows of a trace stream as text. */
#ifndef SHOT_STREAM_ROW_TEXT_H
#define SHOT_STREAM_ROW_TEXT_H

#include <stdbool.h>

#include <shottrace/trace/decimal.h>
#include <shottrace/trace/shot.h>
#include <shottrace/trace/unit.h>

/* How the text of a column becomes a value in the channel's usual unit. */
typedef struct shot_column {
    const shot_channel_kind *kind; /* NULL for a channel that the library does not know */
    shot_conversion conversion;
    bool converts;
    bool unit_assumed; /* nobody said the unit, so a value out of range is a wrong unit */
} shot_column;

typedef struct shot_row_plan {
    shot_column *columns;
    size_t count;
    bool has_origin; /* the clock is large: `origin` is subtracted from its text, exactly */
    shot_decimal origin;
} shot_row_plan;

/* True if the line starts with a name, quoted or not, rather than with a number or an empty
 * field. */
bool shot_header_starts(const char *line, const char *end);

/* Cut the title `NAME [UNIT]` or `NAME (UNIT)` in two, in place: `title` becomes the name, and its
 * unit is returned, "" if there is none. */
const char *shot_title_cut(char *title);

/* How the text of a channel in `unit` becomes a value where it tells of a known one (pressure.se
 * [psi]): `target` is its usual unit, owned by the caller, and NULL for any other channel or
 * without a unit.  SHOT_ERR_UNIT, with both units named, if they do not fit. */
shot_status shot_column_of_companion(const char *name, const char *unit, shot_column *column,
                                     char **target, shot_error *error);

/* Read a header line: adds the channels to `head`, in their usual units, and fills `plan`, whose
 * columns the caller frees.  Errors name the column. */
shot_status shot_header_read(const char *line, const char *end, shot_head *head,
                             shot_row_plan *plan, shot_error *error);

/* True for the words that loggers write for "no value", and for nothing but blanks. */
bool shot_missing_word(const char *text, const char *end);

/* The value that [text, end) was read as, in the channel's unit; by way of the decimal text where
 * that avoids a rounding error. */
double shot_column_convert(const shot_column *column, const char *text, const char *end,
                           double value);

/* Are all numbers of a row values as they stand, with nothing to convert, subtract or doubt? */
bool shot_row_plan_is_plain(const shot_row_plan *plan);

/* Read a row into values[plan->count]; infinite is a number that is too large for a double.  Errors
 * name the channel and set error->column. */
shot_status shot_row_read(const char *line, const char *end, const shot_row_plan *plan,
                          const shot_head *head, double *values, shot_error *error);

/* The text of a field, without blanks around it: of a row that shot_row_read took, before *end. */
const char *shot_row_field(const char *line, const char *line_end, size_t field, const char **end);

/* True if a field behind the first is a number, and the first is no name of a time, as in a header
 * whose channels have numbers for names. */
bool shot_row_has_figures(const char *line, const char *end);

/* Where the first line of another file was joined to this row, as `cat` does when the file before
 * lacks its last newline ("0.1,2time,pressure"); NULL if nothing looks like that. */
const char *shot_row_seam(const char *line, const char *end);

/* The whole seconds of the row's time, where they are so many that a double would lose digits of
 * the fraction; false if the clock is small. */
bool shot_row_large_clock(const char *line, const char *end, const shot_row_plan *plan,
                          shot_decimal *origin);

#endif
