/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The start of the main rise, told when full pressure is. */
#include "detect/live_rise.h"

#include <math.h>

#include "detect/last_course.h"

static const double memory = 20; /* s that are searched */
enum { LEAST = 5 };              /* samples of the gauge */

shot_status live_rise_find(const shot_table *shot, double held, const live_pump *pump, double full,
                           double rest, double *rise, shot_error *error) {
    const bool stood = pump->runs && pump->from > pump->to && pump->to >= held;
    last_course last;
    shot_instant found = {NAN, NAN, NAN};
    shot_status status = last_course_new(shot, memory, &last);
    if (status == SHOT_OK && last.course.puck.n >= LEAST) {
        last.course.rest = rest;
        const double begins = fmax(held, last.course.puck.t[0]);
        status = shot_find_rise_before(&last.course, stood ? fmax(pump->to, begins) : begins,
                                       stood ? fmax(pump->from, begins) : begins, full, &found);
    }
    last_course_free(&last);
    *rise = found.at >= held && found.at < full ? found.at : NAN;
    return status;
}
