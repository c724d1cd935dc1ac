/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The noise of a channel, estimated while its samples pass by, in bounded memory.
 *
 * Up to 8192 samples are judged as one; of longer channels each 8192 are, and the median of these
 * verdicts counts (of every second, fourth, ... of them when there are more than 256). */
#ifndef SHOT_FILTER_NOISE_WATCH_H
#define SHOT_FILTER_NOISE_WATCH_H

#include <stdbool.h>

#include <shottrace/signal/noise.h>

#include "signal/noise_times.h"

/* What an estimate works in.  Channels that are judged one after the other can share one: it is
 * 3.5 times as large as the samples.  A zeroed one is empty. */
typedef struct noise_scratch {
    double *values; /* owned */
    size_t room;
} noise_scratch;

void noise_scratch_free(noise_scratch *scratch);

typedef struct noise_watch {
    double *samples; /* t and y   owned, room for `room` samples */
    size_t count, room;
    noise_scratch own, *shared; /* shared: borrowed, or NULL */
    shot_noise *verdicts;       /* owned [MOST] */
    size_t verdict_count;
    size_t stride, skipped; /* of verdicts */
    noise_way way; /* its times borrowed: shared by channels of the same rows; stays when reset */
} noise_watch;

/* Samples t, y [n]; missing ones are left out.  SHOT_ERR_MEMORY. */
shot_status noise_watch_push(noise_watch *watch, const double *t, const double *y, size_t n);

/* The estimate; false with fewer than five samples. */
bool noise_watch_estimate(noise_watch *watch, shot_noise *out);

/* Forget the samples; a zeroed one is empty too. */
void noise_watch_reset(noise_watch *watch);
void noise_watch_free(noise_watch *watch);

#endif
