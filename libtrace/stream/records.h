/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Delimited text cut into records of fields, as bytes arrive.
 *
 * Quoting is that of RFC 4180: a field that starts with '"' goes to the closing '"', may hold
 * delimiters and line ends, and writes '"' as '""'.  A record ends with LF, CR LF or CR.  A quote
 * that is still open after QUOTED_LINES lines, or at the end, was no quote: reading resumes behind
 * the line that held it, and quotes have no meaning from there on. */
#ifndef SHOT_STREAM_RECORDS_H
#define SHOT_STREAM_RECORDS_H

#include <stdbool.h>

#include <shottrace/status.h>
#include <shottrace/trace/text.h>

#include "stream/cell_text.h"
#include "stream/dialect.h"

enum { SHOT_QUOTED_LINES = 1000 };

/* A record, borrowed for the time of a call.  Blank lines make no record; a comment line makes one
 * without cells, `comment` set. */
typedef struct shot_record {
    const shot_cell *cells;
    size_t count;
    size_t line;      /* 1-based line of its first byte */
    const char *text; /* as it stood, without its line end */
    size_t length;
    bool comment;
    bool open;    /* the text ends in it, without a line end: it may have been cut there */
    bool literal; /* titles that mean what they say, `NAME [UNIT]`, as a stream's header has them */
} shot_record;

typedef shot_status (*shot_record_take)(void *user, const shot_record *record, shot_error *error);

typedef struct shot_records shot_records;

/* Of the dialect, delimiter, comment and `skipped` count: within the skipped lines quotes have no
 * meaning.
 *   longest  the most bytes of a record, under 2 GiB: a file that is no table may be one endless
 *            line, and a byte of it can cost the memory of a field
 * *out is freed with shot_records_free. */
shot_status shot_records_new(const shot_dialect *dialect, size_t longest, shot_record_take take,
                             void *user, shot_records **out);
/* Records are taken as soon as they are complete.  A failure of `take` is handed on;
 * SHOT_ERR_DATA, with the line, for a record that is too long. */
shot_status shot_records_push(shot_records *records, const char *bytes, size_t count,
                              shot_error *error);
/* The last record may lack its line end; `cut` says that its end is missing, so that it is left
 * out. */
shot_status shot_records_finish(shot_records *records, bool cut, shot_error *error);
/* True if a record has begun and its line end has not come. */
bool shot_records_is_open(const shot_records *records);
/* The line of a quote that never closed, 0 if there was none. */
size_t shot_records_stray_quote(const shot_records *records);
void shot_records_free(shot_records *records);

#endif
