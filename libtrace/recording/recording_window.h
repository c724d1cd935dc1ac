/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The part of a stream of bytes that its reader may still want: all of it while the reader looks
 * around in the header, little behind the place of reading from then on. */
#ifndef SHOT_RECORDING_WINDOW_H
#define SHOT_RECORDING_WINDOW_H

#include <stdbool.h>
#include <stdint.h>

#include <shottrace/trace/text.h>

/* Zeroed it is empty and at the start of the stream. */
typedef struct shot_window {
    shot_text held;   /* the bytes from `start` on */
    int64_t start;    /* place in the stream */
    int64_t place;    /* of reading; may lie before or behind what is held */
    int64_t furthest; /* place that was read so far */
    bool settled;     /* the header is read: what lies behind need not be kept */
    bool complete;    /* no further byte comes */
} shot_window;

/* A reader that has not settled looks no further than AHEAD of what it has read, and nowhere beyond
 * HEADER: there the stream seems to end.  So a header that leads past the sound can be read before
 * the sound has come, and none takes more memory than this. */
enum { SHOT_WINDOW_AHEAD = 2 * 1024 * 1024, SHOT_WINDOW_HEADER = 8 * 1024 * 1024 };

/* Bytes that follow those before. */
shot_status shot_window_add(shot_window *window, const char *bytes, size_t count);

/* Bytes that are still to come before `count` can be read at the place; 0: as many as there will
 * be are there. */
size_t shot_window_lacks(const shot_window *window, size_t count);

/* Read at the place what is there, at most `count`, and move behind it. */
size_t shot_window_read(shot_window *window, char *out, size_t count);

void shot_window_free(shot_window *window);

#endif
