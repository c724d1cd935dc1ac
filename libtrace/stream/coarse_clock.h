/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A clock that says whole seconds to rows that come faster: several bear each of its readings.
 *
 * A row lies somewhere in its second, and rows come evenly: each follows the one before by a step
 * of the rate, kept within the second that its clock says.  Which part of a step the first row lies
 * behind its place nobody can tell; the middle is taken.  Times are off by less than a step and a
 * half while the rate holds (tests/unit/stream/test_coarse_clock.c), by half a step mostly. */
#ifndef SHOT_STREAM_COARSE_CLOCK_H
#define SHOT_STREAM_COARSE_CLOCK_H

#include <stdbool.h>
#include <stddef.h>

/* Zeroed it is as fine as its rows, and changes nothing. */
typedef struct shot_coarse_clock {
    double rows;      /* a second, as far as they came; 0 if readings are taken as they are */
    double lead;      /* s of the next shot's first row behind its reading */
    double reading;   /* of the row before; NaN if there is none in the shot */
    double last;      /* its time */
    size_t of_it;     /* rows that bear that reading, */
    bool from_start;  /* and all of them came */
    size_t whole, in; /* seconds of which all rows came, and rows in them */
} shot_coarse_clock;

/* Work out from the first rows whether that is so: readings are whole seconds, and most bear
 * several rows.
 *   readings  [count] in s
 *   differs   [count] row i differs from row i - 1 in a value that both have
 * Rows that are alike are no proof in pairs, since some logs say each row twice. */
void shot_coarse_clock_settle(shot_coarse_clock *clock, const double *readings, const bool *differs,
                              size_t count);

/* Another shot begins. */
void shot_coarse_clock_begin(shot_coarse_clock *clock);

/* The time of the next row, in s, to the microsecond if it is not the reading itself. */
double shot_coarse_clock_time(shot_coarse_clock *clock, double reading);

#endif
