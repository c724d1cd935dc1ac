/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Steps between samples: two breaks of slope that lie nearer together than the log is written. */
#ifndef SHOT_DETECT_KNEE_STEPS_H
#define SHOT_DETECT_KNEE_STEPS_H

#include "detect/knee_finder.h"
#include "signal/line_sums.h"

/* Where the channel goes from one line to another within one or two intervals between samples, its
 * slope broke where it left the one line and again where it came to the other: no machine leaps.
 * Both knees are added to `knees` [*count] in their places, but where one of that sign is known.
 *   sums        line_sums_new over its samples
 *   least       change of slope
 *   alarm_rate  with which noise alone may give any
 *   knees       has room for 2 view->n more
 * SHOT_ERR_MEMORY. */
shot_status shot_knee_steps(const shot_channel_view *view, const line_sums *sums, double least,
                            double alarm_rate, shot_knee *knees, size_t *count);

#endif
