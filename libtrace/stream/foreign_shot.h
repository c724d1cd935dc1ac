/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shots that a foreign log becomes: what is told to the sink, and in which order. */
#ifndef SHOT_STREAM_FOREIGN_SHOT_H
#define SHOT_STREAM_FOREIGN_SHOT_H

#include <shottrace/trace/block.h>
#include <shottrace/trace/decimal.h>
#include <shottrace/trace/description.h>

#include "stream/foreign_columns.h"
#include "stream/shot_names.h"

/* Lines and marks that come between shots, or behind the last row, wait: a further row makes them
 * part of the shot that runs, another header part of the next one. */
typedef struct shot_foreign_shot {
    shot_sink *next;
    const char *history;
    shot_notice notice;
    bool running, failed; /* failed: the sink did, and must not be called again */
    shot_head common;     /* lines that all shots of a table share */
    shot_head waiting;    /* lines, and a name, for the next shot */
    shot_head marks;      /* that wait, as text: the first row settles their clock */
    bool has_origin;      /* of the shot that runs, made here: */
    shot_decimal origin;
    shot_rows rows;
    size_t shots, notes;
    size_t came, repeats; /* rows of the shot that runs, and those with the time before theirs */
    double last_time;
    shot_names names;
    shot_text name;
    shot_text stem;       /* the file's name without folder and ending; "" if it has none */
    size_t shots_of_file; /* so far */
    size_t shots_since_close;
    /* What a trace stream says of its own ends: whether the shot bears history, has said its end,
     * and whether shots with history came since the stream last closed. */
    bool bears_history, waiting_history, end_said, history_since_close;
} shot_foreign_shot;

/* Another file begins: shots without a name of their own are called after it. */
shot_status shot_foreign_shot_file(shot_foreign_shot *shot, const char *name);

/* A line; `shot`, `mark`, `end` and `close` have their meaning in a stream, a NULL key is a
 * comment. */
shot_status shot_foreign_shot_line(shot_foreign_shot *shot, const char *key, const char *value,
                                   shot_error *error);

/* True if a line says where the clock starts. */
bool shot_foreign_shot_has_origin(const shot_foreign_shot *shot);

/* True if the shot that runs came through a filter, which says where a shot ends, and this one's
 * end has not been said: it was cut short. */
bool shot_foreign_shot_lacks_end(const shot_foreign_shot *shot);
/* True if shots came through a filter and the stream has not been closed since. */
bool shot_foreign_shot_lacks_close(const shot_foreign_shot *shot);

/* What waited belongs to the shot that runs, if one does. */
shot_status shot_foreign_shot_settle(shot_foreign_shot *shot, shot_error *error);

/* A table begins: what waited is about all of its shots. */
shot_status shot_foreign_shot_share(shot_foreign_shot *shot);

/* Begin a shot of that name (NULL: its number) whose clock starts at `origin` (NULL: at 0). */
shot_status shot_foreign_shot_begin(shot_foreign_shot *shot, const char *name,
                                    const shot_foreign_columns *columns, const shot_decimal *origin,
                                    shot_error *error);
/* values[0] is time. */
shot_status shot_foreign_shot_row(shot_foreign_shot *shot, const double *values, shot_error *error);
/* A column of text says something new. */
shot_status shot_foreign_shot_note(shot_foreign_shot *shot, double time, const char *column,
                                   const char *text, shot_error *error);
/* End the shot, if one runs. */
shot_status shot_foreign_shot_end(shot_foreign_shot *shot, bool cut, shot_error *error);
/* Hand on the rows that have gathered. */
shot_status shot_foreign_shot_flush(shot_foreign_shot *shot, shot_error *error);

/* Forget what waits for a next shot, but for what all shots of a table share; with that. */
void shot_foreign_shot_forget_next(shot_foreign_shot *shot);
void shot_foreign_shot_forget(shot_foreign_shot *shot);

void shot_foreign_shot_free(shot_foreign_shot *shot);

#endif
