/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One channel of a record on its way to the grid: its usual spacing, its gaps, its runs.
 *
 * The usual spacing is the median of the last 31 intervals between samples of this channel.  The
 * first eight intervals wait for each other, so that a gap among them is seen too.
 */
#ifndef SHOT_SIGNAL_RESAMPLE_CHANNEL_H
#define SHOT_SIGNAL_RESAMPLE_CHANNEL_H

#include "signal/resample_run.h"

enum { RESAMPLE_RECENT = 31, RESAMPLE_EARLY = 9 };

/* The longest interval that is bridged: seconds, or a multiple of the usual spacing (then at most
 * RESAMPLE_HOLD steps of the grid, so that a channel that fell silent holds up nobody). */
typedef struct resample_reach {
    double length;
    bool spacings;
} resample_reach;

enum { RESAMPLE_HOLD = 8192 };

typedef struct resample_channel {
    resample_reach reach;
    resample_run run;
    resample_column column;
    double recent[RESAMPLE_RECENT]; /* intervals, a ring */
    size_t intervals;               /* how many there were */
    double shortest;                /* not longer than any in the ring */
    double early_t[RESAMPLE_EARLY], early_y[RESAMPLE_EARLY];
    size_t early; /* samples that wait for the usual spacing */
    bool settled; /* ... which is known */
    bool open;    /* a run is going on */
    double last;  /* time of its last sample */
} resample_channel;

/* With `weighed` the gain of each value is kept too. */
void resample_channel_init(resample_channel *channel, const resample_grid *grid,
                           resample_method method, resample_reach reach, bool weighed);

/* Begin a record whose grid begins at place k. */
void resample_channel_begin(resample_channel *channel, int64_t k);

/* The next row of the record: a sample at time t, or none (NaN). */
shot_status resample_channel_push(resample_channel *channel, double t, double y);

/* The same for many rows. */
shot_status resample_channel_push_block(resample_channel *channel, const double *t, const double *y,
                                        size_t n);

/* Append to the column what is decided, after some rows. */
shot_status resample_channel_flush(resample_channel *channel);

/* The record is over, its grid ends before place k. */
shot_status resample_channel_finish(resample_channel *channel, int64_t k);

void resample_channel_clear(resample_channel *channel);

#endif
