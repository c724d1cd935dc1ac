/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Knees of a log so coarse that the slopes beside them are chords between samples. */
#ifndef SHOT_DETECT_KNEE_COARSE_H
#define SHOT_DETECT_KNEE_COARSE_H

#include "detect/knee_finder.h"
#include "signal/line_sums.h"

/* Where samples lie further apart than the time over which the slopes of a knee are taken, add the
 * joints of the broken line that describes the channel with as few of them as the noise allows, but
 * those that make a bend together and those where a knee of that sign is known.  Does nothing on a
 * finer log.
 *   sums        line_sums_new over its samples
 *   least       change of slope
 *   alarm_rate  with which noise alone may give any
 *   knees       [*count] in order, has room for view->n more
 * SHOT_ERR_MEMORY. */
shot_status shot_knee_coarse(const shot_channel_view *view, const line_sums *sums, double least,
                             double alarm_rate, double level, shot_knee *knees, size_t *count);

#endif
