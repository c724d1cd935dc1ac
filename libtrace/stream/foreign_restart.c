/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the clock of a table begins anew. */
#include "stream/foreign_restart.h"

#include <math.h>

#include <shottrace/trace/stage.h>

/* Rows that a logger sends in batches come late by seconds (common practice, no source); over this
 * it is the clock. */
static const double most_late = 10;

/* As near to where it began a clock that began anew is by its first row. */
static const double start = 1;

void shot_foreign_restart_begin(shot_foreign_restart *restart) {
    restart->first = restart->newest = NAN;
}

void shot_foreign_restart_took(shot_foreign_restart *restart, double time) {
    if (isnan(restart->first))
        restart->first = time;
    restart->newest = fmax(restart->newest, time);
}

bool shot_foreign_restart_may_be(const shot_foreign_restart *restart, double time) {
    return restart->newest - time > most_late ||
           (shot_time_is_far_back(restart->newest, time) && time <= restart->first + start);
}

bool shot_foreign_restart_stays(const shot_foreign_restart *restart, double time) {
    return shot_time_is_far_back(restart->newest, time);
}

void shot_foreign_restart_free(shot_foreign_restart *restart) {
    shot_held_records_free(&restart->held);
}
