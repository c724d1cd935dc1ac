/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A stretch of evenly spaced samples: windows of n samples, each moved on by one, whose weights are
 * the same. */
#ifndef SHOT_SIGNAL_EVEN_STRETCH_H
#define SHOT_SIGNAL_EVEN_STRETCH_H

#include <float.h>
#include <math.h>
#include <stdbool.h>
#include <stddef.h>

/* What the rounding of three stamps makes of the distance of one from the middle of the others, and
 * as much again. */
static inline double even_stretch_rounding(double t) {
    return 4 * DBL_EPSILON * fabs(t);
}

/* Whether the last of three times is not as far behind the second as that is behind the first. */
static inline bool even_stretch_bends(const double *t) {
    return !(fabs((t[2] - t[1]) - (t[1] - t[0])) <= even_stretch_rounding(t[2]));
}

/* Whether the middle sample of a window lies where an even grid puts it: small bends add up. */
static inline bool even_stretch_straight(const double *t, size_t n) {
    const double last = t[n - 1], share = (double)(n / 2) / (double)(n - 1); /* mostly a half */
    const double start = fabs(t[0]), end = fabs(last);
    return fabs(t[n / 2] - (t[0] + share * (last - t[0]))) <=
           even_stretch_rounding(start > end ? start : end);
}

/* How many of the first windows are even: each sample half way between its neighbours, and every
 * window straight.  t holds rows + n - 1 times; n >= 2. */
size_t even_stretch_rows(const double *t, size_t n, size_t rows);

/* At most so many samples are missing in a hole of a grid.  Longer holes are seldom like another.
 */
enum { EVEN_STRETCH_HOLE = 2 };

/* How many of the first windows lie on an even grid but for one hole, the same in all: each sample
 * on either side of it half way between its neighbours, and every window straight.  *behind gets
 * the first sample behind the hole in the first window (in the next one it is one less), *missing
 * how many are missing.  t holds rows + n - 1 times. */
size_t even_stretch_hole_rows(const double *t, size_t n, size_t rows, size_t *behind,
                              size_t *missing);

/* The sums of products of n weights and the values of each window, in the order of dot().
 *   y      values [rows + n - 1]
 *   out    [rows] */
void even_stretch_filter(const double *weight, size_t n, const double *y, size_t rows, double *out);

/* 1 / step^derivative of each window. */
void even_stretch_units(const double *t, size_t n, size_t rows, size_t derivative, double *unit);

#endif
