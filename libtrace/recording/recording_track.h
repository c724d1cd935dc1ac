/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One track of a recording on its way to the rate of a trace. */
#ifndef SHOT_RECORDING_TRACK_H
#define SHOT_RECORDING_TRACK_H

#include <stdbool.h>
#include <stdint.h>

#include <shottrace/signal/bandlimited.h>
#include <shottrace/status.h>

/* Output k lies at input sample k * ratio.  A stretch of missing samples (NaN, and infinite ones)
 * ends a run: the runs on its two sides are filtered each on its own, and outputs between them are
 * missing.  Where the rate stays, samples pass as they are. */
typedef struct shot_track {
    double ratio; /* input rate over output rate, > 0 */
    shot_bandlimited *kernel;
    double *run; /* input samples of the push at hand, without stride */
    size_t run_room;
    bool open;         /* a run is going on */
    uint64_t position; /* input samples so far */
    uint64_t next;     /* number of the next output */
    uint64_t infinite; /* input samples that were infinite, and so are missing */
    double *out;       /* outputs not taken yet */
    size_t count, room;
} shot_track;

/* SHOT_ERR_RANGE for a ratio that is not > 0.  Free it in any case. */
shot_status shot_track_init(shot_track *track, double ratio);
/* Take samples x[0], x[stride], ... */
shot_status shot_track_push(shot_track *track, const double *x, size_t count, size_t stride);
/* The recording is over: the last outputs. */
shot_status shot_track_finish(shot_track *track);
/* Forget the first `count` outputs. */
void shot_track_drop(shot_track *track, size_t count);
void shot_track_free(shot_track *track);

#endif
