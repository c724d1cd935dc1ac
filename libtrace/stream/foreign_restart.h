/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the clock of a table begins anew, with no header between: another shot. */
#ifndef SHOT_STREAM_FOREIGN_RESTART_H
#define SHOT_STREAM_FOREIGN_RESTART_H

#include "stream/held_records.h"

/* A row that falls far back may be the first of another shot, or one stray row; the row behind it
 * tells.  Until then it is held.  Zeroed it may be freed. */
typedef struct shot_foreign_restart {
    double first, newest; /* times of the shot so far, s; NaN before its first row */
    shot_held_records held;
} shot_foreign_restart;

/* Another shot begins. */
void shot_foreign_restart_begin(shot_foreign_restart *restart);

/* A row of the shot was handed on. */
void shot_foreign_restart_took(shot_foreign_restart *restart, double time);

/* True for a row that is to be held: it falls by more than rows come late, or to the start. */
bool shot_foreign_restart_may_be(const shot_foreign_restart *restart, double time);

/* True if the row behind it stays back, so that the row held begins another shot. */
bool shot_foreign_restart_stays(const shot_foreign_restart *restart, double time);

void shot_foreign_restart_free(shot_foreign_restart *restart);

#endif
