/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A pump that stands for a while in the brew. */
#ifndef SHOT_DETECT_BREW_PAUSE_H
#define SHOT_DETECT_BREW_PAUSE_H

#include "detect/course.h"
#include "detect/pump_gaps.h"

/* The first of the gaps, of `count`, behind full pressure in which the pump stands: `stood` and
 * `stood_until`, which are left as they are where there is none. */
void shot_find_pause(const shot_course *course, const pump_gap *gaps, size_t count,
                     shot_phases *out);

#endif
