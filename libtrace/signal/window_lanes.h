/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Short windows side by side, a window in each lane. */
#ifndef SHOT_SIGNAL_WINDOW_LANES_H
#define SHOT_SIGNAL_WINDOW_LANES_H

#include "window_batch.h"

enum { WINDOW_LANES = 64, WINDOW_LANES_LONGEST = 24 }; /* windows; samples in each, even */

typedef struct window_lanes {
    size_t count;                 /* of the lanes in use */
    double samples[WINDOW_LANES]; /* in each window */
    double median[WINDOW_LANES];
    /* The windows down the lanes, in no order and filled up to an even height by infinities. */
    size_t height;
    double value[WINDOW_LANES_LONGEST][WINDOW_LANES];
} window_lanes;

/* Take the windows of a row of a batch and of those behind it, as many as there are lanes, up to
 * the first of more than WINDOW_LANES_LONGEST samples, and find their medians. */
void window_lanes_take(window_lanes *lanes, const window_batch *batch, const window_row *row);

/* How many samples of each window lie nearer to its median than `distance`. */
void window_lanes_count(const window_lanes *lanes, const double *distance, double *count);

#endif
