/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A logger that smooths what its gauge shows. */
#ifndef SHOT_DETECT_LOGGER_FILTER_H
#define SHOT_DETECT_LOGGER_FILTER_H

#include "detect/course.h"

/* Where the noise of the gauge looks as if its logger smoothed it, a level may have been crossed
 * before it shows: the intervals of such instants reach back as far.  Nothing where the gauge's lag
 * is known. */
void shot_look_behind_filter(const shot_course *course, shot_phases *out);

#endif
