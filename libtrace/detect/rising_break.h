/* SPDX-License-Identifier: GPL-3.0-or-later */
/* By how much a slope rises where it is known to rise. */
#ifndef SHOT_DETECT_RISING_BREAK_H
#define SHOT_DETECT_RISING_BREAK_H

#include "detect/knee_finder.h"

/* The change of slope at out->at, which something else than this channel tells, and of which is
 * known that it is none below 0.  Least squares with a level, a slope, a bend and the break, from
 * `reach` on either side (longer where that holds few samples), so that the bend of the curve
 * beside it is not taken for the break; of what noise leaves of its size the part over 0 counts
 * (a truncated normal distribution: its median, and the middle `level` of it).
 * Sets before, after, change_low and change_high of `out`: NaN where the samples do not tell.
 * SHOT_ERR_MEMORY.
 * Source: truncated normal distribution, Johnson, Kotz & Balakrishnan 1994, 'Continuous Univariate
 * Distributions', vol. 1, 2nd ed., ch. 13 (from memory). */
shot_status shot_rising_break(const shot_channel_view *view, double reach, double level,
                              shot_knee *out);

#endif
