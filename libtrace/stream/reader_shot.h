/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shot that the reader of trace streams is in: what was read of it and where the reader stands.
 * Internal to stream/. */
#ifndef SHOT_STREAM_READER_SHOT_H
#define SHOT_STREAM_READER_SHOT_H

#include <stdbool.h>

#include <shottrace/stream/reader.h>
#include <shottrace/trace/stage.h>

#include "stream/loss.h"
#include "stream/row_text.h"
#include "stream/shot_names.h"

/* Where the reader stands in a shot. */
typedef enum shot_reader_place {
    SHOT_READER_BETWEEN, /* no header yet: metadata lines gather for the next shot */
    SHOT_READER_HEADED,  /* the header was read, the sink has not been told: see settle_origin */
    SHOT_READER_RUNNING  /* rows come */
} shot_reader_place;

/* The last header and what it says, while no shot runs that has it: the next one mostly has it too.
 */
typedef struct shot_reader_header {
    shot_text line;
    shot_channel *channels; /* [plan.count] */
    shot_row_plan plan;
} shot_reader_header;

typedef struct shot_reader {
    shot_source source;
    shot_sink *next;
    shot_reader_settings settings;

    char *file;
    size_t line;     /* of the line being read, 1-based */
    shot_text carry; /* the start of a line whose end has not come */
    bool file_begun, file_has_bytes;

    shot_reader_place place;
    shot_head head; /* of the shot that runs or gathers */
    shot_row_plan plan;
    bool plain; /* its numbers are values as they stand */
    shot_reader_header header;
    shot_rows rows;
    double *row;       /* one or some, row after row */
    shot_head early;   /* marks that came before the first row, which settles their clock */
    shot_head waiting; /* lines behind the rows, which may belong to the next shot */
    bool bears_history;
    double last_time;
    size_t row_count, coarse_steps;

    shot_names names;
    shot_text name;
    shot_names mark_ids; /* of the shot that runs or gathers */
    shot_text mark_id;
    bool told_nameless; /* that a mark of this shot has no id */
    size_t shots, shots_since_close;
    bool history_since_close, closed, cut_seen;
    bool sink_failed;
    bool abandoned;            /* the rest of this file is not read */
    bool lost;                 /* a file was abandoned, as was told */
    shot_loss_count too_large; /* values that no double holds, and became missing */
} shot_reader;

/* Remember that it was the sink that failed: it must not be called again. */
shot_status shot_reader_sent(shot_reader *self, shot_status status);

/* Tell the sink of the mark that [text, end) says, on the clock of the shot that runs; with `doubt`
 * it is new, see below. */
shot_status shot_reader_send_mark(shot_reader *self, const char *text, const char *end, bool doubt,
                                  shot_error *error);

/* Tell a person what cannot be right in a mark of this line; it passes as it came. */
shot_status shot_reader_doubt_mark(shot_reader *self, const shot_mark *mark);

/* Hand on the rows that gathered. */
shot_status shot_reader_flush_rows(shot_reader *self, shot_error *error);

/* The lines that waited turned out to belong to the shot that runs. */
shot_status shot_reader_flush_waiting(shot_reader *self, shot_error *error);

/* Read the header of a shot. */
shot_status shot_reader_read_header(shot_reader *self, const char *line, const char *end,
                                    shot_error *error);
void shot_reader_free_header(shot_reader *self);

/* Tell the sink of the shot whose head was read. */
shot_status shot_reader_begin_shot(shot_reader *self, shot_error *error);

/* Tell the sink that the shot ended, `cut` or not, and forget it. */
shot_status shot_reader_end_shot(shot_reader *self, bool cut, shot_error *error);

/* A shot ends because another begins or the file is over: fine for plain CSV; one that bears
 * history should have said so itself. */
shot_status shot_reader_end_unsaid(shot_reader *self, shot_error *error);

/* A shot that was named, and has no header when another one begins or nothing more comes: it is
 * told and forgotten, so that what was said of it does not go to the next one. */
void shot_reader_drop_headless(shot_reader *self);

/* Forget the shot and gather for the next one. */
void shot_reader_forget_shot(shot_reader *self);

#endif
