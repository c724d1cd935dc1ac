/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A sink between a source and what works on its shots: whose failure one is, and of which shot. */
#ifndef SHOT_CHAIN_GATE_H
#define SHOT_CHAIN_GATE_H

#include <shottrace/trace/description.h>

/* What a gate tells on its way; all borrowed, and NULL where nobody wants to know. */
typedef struct shot_gate_watch {
    const shot_notice *names;  /* hears the name of each shot */
    const shot_notice *notice; /* is warned of metadata that no shot can have, */
    const char *const *file;   /* in this file; needed with `notice` */
} shot_gate_watch;

/* Hands on all, and remembers whether what is behind it has failed, and whether it was closed and
 * that went well; what it fails of says which shot it was. */
shot_status shot_gate_new(const shot_gate_watch *watch, shot_sink *next, shot_sink **out,
                          shot_error *error);
bool shot_gate_has_failed(const shot_sink *gate);
bool shot_gate_has_closed(const shot_sink *gate);

/* Room for the name of a shot in a message; a longer one is cut. */
enum { SHOT_GATE_NAME_ROOM = 81 };
void shot_gate_copy_name(const shot_head *head, char out[SHOT_GATE_NAME_ROOM]);

/* Put the shot's name before what a filter has against it, unless the sentence names one. */
void shot_gate_name_shot(shot_status status, const char *shot, shot_error *error);

#endif
