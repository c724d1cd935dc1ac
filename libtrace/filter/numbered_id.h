/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Ids of marks that a filter gives while rows pass: a word and a number, so that they cannot meet
 * those of detectors. */
#ifndef SHOT_FILTER_NUMBERED_ID_H
#define SHOT_FILTER_NUMBERED_ID_H

#include <stddef.h>

enum { NUMBERED_ID_ROOM = 64 };

/* gap3; where the filter has a turn other than 0 (shot_stage_turn), gap-2-3.
 *   word  of at most 16 bytes
 *   out   [NUMBERED_ID_ROOM] */
void numbered_id_write(char *out, const char *word, size_t turn, size_t number);

/* The number in an id (may be NULL) of that word that was given at turn 0; 0 in any other. */
size_t numbered_id_number(const char *id, const char *word);

#endif
