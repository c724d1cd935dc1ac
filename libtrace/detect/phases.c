/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The course of a shot.  Levels are looked for in means, so that a spike is no level; instants are
 * then placed between samples by fits to the samples themselves. */
#include "detect/phases.h"

#include <math.h>

#include "detect/course.h"

static const shot_instant never = {NAN, NAN, NAN};

shot_status shot_phases_find(const shot_phase_input *input, shot_phases *out) {
    shot_course course;
    *out = (shot_phases){.water_in = never,
                         .fill_end = never,
                         .rise = never,
                         .full = never,
                         .pump_off = never,
                         .released = never,
                         .first_drip = never};
    shot_status status = shot_course_new(input, &course);
    out->restriction = course.restriction;
    if (status == SHOT_OK) {
        shot_find_water(&course, out);
        status = shot_find_main_rise(&course, out);
    }
    if (status == SHOT_OK) {
        shot_find_end(&course, out);
        shot_find_drip(&course, out);
    }
    shot_course_free(&course);
    return status;
}
