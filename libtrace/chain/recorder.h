/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A sink that remembers what it was told, so that it can be told again in another thread. */
#ifndef SHOT_CHAIN_RECORDER_H
#define SHOT_CHAIN_RECORDER_H

#include <shottrace/trace/description.h>

typedef struct shot_event shot_event;

/* Takes everything but `pause` and `close`, which concern a stream and not a shot. */
typedef struct shot_recorder {
    shot_sink sink;
    shot_event *events;
    size_t count, room;
    size_t rows; /* in all events together */
} shot_recorder;

void shot_recorder_init(shot_recorder *recorder);

/* A notice that was given between two events; `user` of a shot_notice is the recorder. */
void shot_recorder_say(void *recorder, const char *text);

/* Tell everything to `sink`, in order, and notices to `notice`. */
shot_status shot_recorder_replay(const shot_recorder *recorder, shot_sink *sink,
                                 const shot_notice *notice, shot_error *error);

/* Forget everything. */
void shot_recorder_clear(shot_recorder *recorder);

#endif
