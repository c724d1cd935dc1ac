/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Short windows side by side, a window in each lane. */
#ifndef SHOT_SIGNAL_WINDOW_LANES_H
#define SHOT_SIGNAL_WINDOW_LANES_H

#include <stdbool.h>
#include <stddef.h>

/* Windows that are looked at together; samples in each. */
enum { WINDOW_LANES = 8, WINDOW_LANES_LEAST = 3, WINDOW_LANES_LONGEST = 24 };

/* The median of each window, and whether more than half of the other samples lie nearer to it than
 * the `part`-th part of the distance of the window's own; where that is 0, none does.
 *   y       samples, none missing: the window of row i begins with y[i]  [rows + n - 1]
 *   n       samples in each window, WINDOW_LANES_LEAST to WINDOW_LANES_LONGEST
 *   own     the sample that each window belongs to  [rows]
 *   rows    at least WINDOW_LANES
 *   median, crowded  [rows] */
void window_lanes_look(const double *y, size_t n, const double *own, size_t rows, double part,
                       double *median, bool *crowded);

/* The same for windows that do not go on by a sample each: count <= WINDOW_LANES of them. */
typedef struct window_of_lane {
    const double *y; /* [n] */
    size_t n;
} window_of_lane;

void window_lanes_look_at(const window_of_lane *windows, const double *own, size_t count,
                          double part, double *median, bool *crowded);

#endif
