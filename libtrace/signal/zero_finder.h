/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a sensor shows while nothing happens: its zero, from the idle part at the start of a record.
 *
 * The idle part is the longest stretch from the first sample on, within the time given, in which no
 * two samples in a row lie more than 5 standard deviations of the noise (at least half a step of
 * the figures each) from the first five.  The zero is its median.  Where the medians of its two
 * halves differ by more than 3 standard deviations it is no idle part but a slow start.
 */
#ifndef SHOT_SIGNAL_ZERO_FINDER_H
#define SHOT_SIGNAL_ZERO_FINDER_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/status.h>

typedef struct sensor_zero {
    double zero;     /* NaN if there is no idle part */
    double from, to; /* of the idle part, s */
    size_t n;        /* samples in it */
} sensor_zero;

typedef struct zero_finder {
    double longest;
    bool in_rows;
    double start;
    double *t, *y; /* the samples so far [n] */
    size_t n, room;
    size_t rows; /* so far */
    bool done;
    sensor_zero result;
} zero_finder;

/* Begin to look, for an idle part of at most `longest` seconds or, with `in_rows`, rows.  A zeroed
 * zero_finder may be freed. */
void zero_finder_begin(zero_finder *finder, double longest, bool in_rows);

/* A row at `t` with the value `y`, NaN where missing.  SHOT_ERR_MEMORY. */
shot_status zero_finder_row(zero_finder *finder, double t, double y);

/* There are no more rows.  SHOT_ERR_MEMORY. */
shot_status zero_finder_finish(zero_finder *finder);

void zero_finder_free(zero_finder *finder);

#endif
