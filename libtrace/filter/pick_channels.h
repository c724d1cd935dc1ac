/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Channels to keep, to drop and to rename. */
#ifndef SHOT_FILTER_PICK_CHANNELS_H
#define SHOT_FILTER_PICK_CHANNELS_H

#include <stdbool.h>

#include <shottrace/trace/block.h>
#include <shottrace/trace/option.h>
#include <shottrace/trace/shot.h>
#include <shottrace/trace/unit.h>

typedef struct pick_name {
    char *old, *new; /* `new` NULL where it keeps its name */
    size_t shots;    /* that had it */
    bool converts;   /* in the current shot its values come in another unit */
} pick_name;

typedef struct pick_column {
    size_t source; /* index in the log */
    shot_conversion conversion;
    bool converts;
} pick_column;

/* Zeroed it keeps everything. */
typedef struct pick_channels {
    pick_name *names; /* of keep or drop, then of rename */
    size_t kept, dropped, renamed;
    pick_column *columns; /* of the current shot */
    size_t column_count;
} pick_channels;

/* From the words of the options.  SHOT_ERR_USAGE with a sentence. */
shot_status pick_channels_read(const shot_texts *keep, const shot_texts *drop,
                               const shot_texts *rename, pick_channels *out, shot_error *error);

/* The head with the channels picked, and the plan for the rows of this shot; `out` is freed with
 * shot_head_free.  SHOT_ERR_DATA or SHOT_ERR_UNIT with a sentence where a new name is taken or does
 * not fit the channel. */
shot_status pick_channels_begin(pick_channels *channels, const shot_head *head, shot_head *out,
                                shot_error *error);

/* Append row `index` of a block of the log to `rows`. */
shot_status pick_channels_append(const pick_channels *channels, const shot_block *block,
                                 size_t index, shot_rows *rows);

/* The name that a channel of the log has now; NULL if it is gone. */
const char *pick_channels_name(const pick_channels *channels, const char *old);

/* A line as it is to be handed on: that of the noise of a channel follows it.  *drop is true for
 * one of a channel that is gone or came in another unit; *out, else, is the value to be freed, or
 * NULL where the line stays as it is. */
shot_status pick_channels_line(const pick_channels *channels, const shot_line *line, bool *drop,
                               char **out);

void pick_channels_free(pick_channels *channels);

#endif
