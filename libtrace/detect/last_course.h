/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The course of the last seconds of a running shot, to be searched as the whole is at its end. */
#ifndef SHOT_DETECT_LAST_COURSE_H
#define SHOT_DETECT_LAST_COURSE_H

#include <shottrace/trace/table.h>

#include "detect/course.h"

typedef struct last_course {
    shot_table rows; /* borrows from the shot */
    shot_phase_input input;
    shot_course course;
} last_course;

/* Of the last so many seconds of `shot`, which has a row, without what a person marked.  The gauge
 * is taken for the puck's: what a restrictor takes so few seconds do not tell.  SHOT_ERR_MEMORY, or
 * what the metadata are at fault with; freed by last_course_free, also after an error. */
shot_status last_course_new(const shot_table *shot, double seconds, last_course *out);
void last_course_free(last_course *last);

#endif
