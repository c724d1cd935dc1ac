/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Short windows side by side, a window in each lane. */
#ifndef SHOT_SIGNAL_WINDOW_LANES_H
#define SHOT_SIGNAL_WINDOW_LANES_H

#include <stdbool.h>
#include <stddef.h>

/* Windows that are looked at together; samples in each. */
enum { WINDOW_LANES = 16, WINDOW_LANES_LEAST = 3, WINDOW_LANES_LONGEST = 24 };

/* Windows of n samples, WINDOW_LANES_LEAST to WINDOW_LANES_LONGEST, each a sample on from the one
 * before it. */
typedef struct window_lanes {
    const double *y;   /* samples, none missing [rows + n - 1] */
    const double *own; /* the sample that each window belongs to [rows] */
    size_t n, rows;    /* rows: at least WINDOW_LANES */
} window_lanes;

/* The median of each window, and whether more than half of the other samples lie nearer to it than
 * the `part`-th part of the distance of the window's own; where that is 0, none does.
 *   median, crowded  [rows] */
void window_lanes_look(const window_lanes *lanes, double part, double *median, bool *crowded);

#endif
