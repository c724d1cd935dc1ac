/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Short windows put in order side by side, a window in each lane of a vector. */
#ifndef SHOT_SIGNAL_WINDOW_LANES_H
#define SHOT_SIGNAL_WINDOW_LANES_H

#include <stdint.h>

#include "window_batch.h"

enum { WINDOW_LANES = 8, WINDOW_LANES_LONGEST = 24 }; /* windows; samples in each */

typedef struct window_lanes {
    size_t n[WINDOW_LANES]; /* samples; 0 where there is no window */
    double median[WINDOW_LANES];
    double sorted[WINDOW_LANES_LONGEST][WINDOW_LANES]; /* rising down each column [n] */
} window_lanes;

/* The comparisons that sort n values, one after the other; zeroed: none yet. */
enum { SORTING_NETWORK_ROOM = 160 };

typedef struct sorting_network {
    size_t n, count;
    uint8_t low[SORTING_NETWORK_ROOM], high[SORTING_NETWORK_ROOM];
} sorting_network;

/* Put the windows of `rows` rows of a batch from `first` on in order: 1 to WINDOW_LANES, none of
 * more than WINDOW_LANES_LONGEST samples.  The network is made anew where their length asks for it.
 */
void window_lanes_sort(const window_batch *batch, size_t first, size_t rows,
                       sorting_network *network, window_lanes *out);

/* How many samples of each window lie nearer to its median than `distance`. */
void window_lanes_count(const window_lanes *lanes, const double *distance, double *count);

/* The median absolute deviation of one window, which is there. */
double window_lanes_mad(const window_lanes *lanes, size_t lane);

#endif
