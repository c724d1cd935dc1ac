/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which run of the pump is the main one. */
#ifndef SHOT_DETECT_MAIN_RUN_H
#define SHOT_DETECT_MAIN_RUN_H

#include "detect/course.h"
#include "detect/pump_gaps.h"

/* The pump runs between gaps; the main run is the first that was a brew, else the longest, or the
 * one in which the log ends.  Gives the number of gaps before it, and makes the course's highest
 * level that of this run: a shut basket may be filled to more.  `water` is when the first run
 * begins. */
size_t shot_gaps_before_main_run(shot_course *course, double water, const pump_gap *gaps,
                                 size_t count);

/* What ran into a cup that nobody touched, g; NaN where no scale tells. */
double shot_beverage(const shot_course *course, double from, double to);

#endif
