/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Short windows kept in order side by side, a window in each lane of a vector: each slides over a
 * stretch of its own of the samples. */
#ifndef SHOT_SIGNAL_WINDOW_LANES_H
#define SHOT_SIGNAL_WINDOW_LANES_H

#include "window_batch.h"

enum { WINDOW_LANES = 8, WINDOW_LANES_LONGEST = 24 }; /* windows; samples in each */

typedef struct window_lanes {
    size_t low[WINDOW_LANES], high[WINDOW_LANES]; /* the windows held, by places in the batch */
    size_t height;                                /* of the columns in use */
    double median[WINDOW_LANES];
    /* Rising down each column, infinite behind the last sample. */
    double sorted[WINDOW_LANES_LONGEST + 1][WINDOW_LANES];
} window_lanes;

/* Hold no samples yet; no window to come has more than `longest`, at most WINDOW_LANES_LONGEST. */
void window_lanes_start(window_lanes *lanes, size_t longest);

/* Let each lane hold the window of its row of a batch, which has samples and does not begin before
 * the one held, and find its median. */
void window_lanes_follow(window_lanes *lanes, const window_batch *batch, const size_t *row);

/* How many samples of each window lie nearer to its median than `distance`. */
void window_lanes_count(const window_lanes *lanes, const double *distance, double *count);

/* The median absolute deviation of one window. */
double window_lanes_mad(const window_lanes *lanes, size_t lane);

#endif
