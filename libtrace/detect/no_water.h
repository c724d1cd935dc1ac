/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A log in which no water ran. */
#ifndef SHOT_DETECT_NO_WATER_H
#define SHOT_DETECT_NO_WATER_H

#include "detect/course.h"

/* Do the sensors show that no water ran into a basket in the whole log?  One that shows the same
 * figure all the time may not be there, and shows nothing. */
bool shot_ran_no_water(const shot_course *course);

#endif
