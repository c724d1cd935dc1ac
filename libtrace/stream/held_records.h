/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Records that outlive the call that brought them. */
#ifndef SHOT_STREAM_HELD_RECORDS_H
#define SHOT_STREAM_HELD_RECORDS_H

#include "stream/records.h"

/* A growing list that owns its records.  Zeroed it is empty. */
typedef struct shot_held_records {
    shot_record *items;
    size_t count, room;
} shot_held_records;

/* Append a deep copy. */
shot_status shot_held_records_add(shot_held_records *held, const shot_record *record);
void shot_held_records_clear(shot_held_records *held);
void shot_held_records_free(shot_held_records *held);

#endif
