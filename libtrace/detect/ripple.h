/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The strongest periodic ripple of one channel: its frequency, when it shows, how strong it is. */
#ifndef SHOT_DETECT_RIPPLE_H
#define SHOT_DETECT_RIPPLE_H

#include <stdbool.h>

#include "detect/ripple_span.h"

/* What was found. */
typedef struct ripple {
    ripple_edge from, to;        /* when it shows */
    double frequency, low, high; /* Hz; the interval at 95 %, NaN if there is none */
    double amplitude;            /* in the channel's unit */
    double false_alarm;          /* anywhere in the spectrum */
} ripple;

/* The strongest ripple of an amplitude above `least` that noise would show with at most that
 * probability; *found is false if there is none.  SHOT_ERR_MEMORY. */
shot_status ripple_find(const ripple_spectrum *spectrum, double alarm_rate, double least,
                        ripple *out, bool *found);

/* Whether a line above half the rate is no stronger than at the frequency that the rate folds it
 * to: then it is that one's image, or the times are too even to tell.  SHOT_ERR_MEMORY. */
shot_status ripple_is_image(const ripple_spectrum *spectrum, double frequency, bool *image);

/* The frequency near `wanted` that a sampling rate folds to `seen`: k rate +- seen. */
double ripple_unfold(double seen, double rate, double wanted);

#endif
