/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A line of comma-separated text cut into its fields (RFC 4180). */
#ifndef SHOTTRACE_TRACE_CSV_LINE_H
#define SHOTTRACE_TRACE_CSV_LINE_H

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Zeroed it is empty.  `field` points into `bytes`; all belong to the object. */
typedef struct shot_csv_line {
    char *bytes;
    char **field;
    size_t count, room;
} shot_csv_line;

/* Cut `line`, which has no line end but may hold line breaks inside quotes, into its fields, in
 * the place of what was there before.  A quote that is not closed ends with the line.  An empty
 * line has one empty field.  SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_csv_line_read(shot_csv_line *fields, const char *line, size_t length);

/* The index of the first field of that text, or -1. */
SHOT_API ptrdiff_t shot_csv_line_find(const shot_csv_line *fields, const char *text);

SHOT_API void shot_csv_line_free(shot_csv_line *fields);

#ifdef __cplusplus
}
#endif
#endif
