/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The names that shots of a stream have had, so that each shot has one of its own. */
#ifndef SHOT_STREAM_SHOT_NAMES_H
#define SHOT_STREAM_SHOT_NAMES_H

#include <stdint.h>

#include <shottrace/status.h>
#include <shottrace/trace/text.h>

/* Only a 64-bit hash of a name is kept, so that a stream of any length fits.  Two names of one hash
 * would merely give the second a suffix that it did not need. */
typedef struct shot_name_slot {
    uint64_t key;
    size_t suffix; /* the last one given to this name */
} shot_name_slot;

typedef struct shot_names {
    shot_name_slot *slots;
    size_t room, count;
} shot_names;

/* Take `name` if it is free, else NAME-2, NAME-3, ...; `out` holds the name taken. */
shot_status shot_names_take(shot_names *names, const char *name, shot_text *out);
void shot_names_free(shot_names *names);

#endif
