/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shortest windows, four side by side, where the processor has 256-bit vectors: all samples of
 * theirs that count stay in registers. */
#ifndef SHOT_SIGNAL_WINDOW_FOURS_H
#define SHOT_SIGNAL_WINDOW_FOURS_H

#include <stdbool.h>
#include <stddef.h>

/* As window_lanes_look, to the bit; false, with nothing done, for other windows and processors. */
bool window_fours_look(const double *y, size_t n, const double *own, size_t rows, double part,
                       double *median, bool *crowded);

enum { WINDOW_FOURS = 4 };

/* The median of |sample - median| in each of WINDOW_FOURS windows of n samples, none of them NaN;
 * false, with nothing done, for other windows and processors.
 *   y            [WINDOW_FOURS][n]
 *   median, mad  [WINDOW_FOURS] */
bool window_fours_deviate(const double *const *y, const double *median, size_t n, double *mad);

#endif
