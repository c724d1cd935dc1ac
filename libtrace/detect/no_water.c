/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A log in which no water ran. */
#include "detect/no_water.h"

#include <math.h>

#include "puck/open_group.h"

/* Common practice, no source: a fill takes ten times as much; a scale may drift so far. */
static const double some_flow = 0.3; /* ml/s */
static const double some_mass = 1;   /* g */

static bool meter_shows_none(const shot_course *course) {
    return course->input->flow.n >= 5 && course->flow_top - course->flow_rest < some_flow;
}

static bool gauge_stays_under(const shot_course *course, double pressure) {
    return course->level.n >= 5 && course->top - course->rest < pressure;
}

static bool scale_shows_none(const shot_course *course) {
    const shot_channel_view *weight = &course->weight;
    if (weight->n < 5)
        return false;
    const double begin = weight->t[0], end = weight->t[weight->n - 1];
    const double half = fmax(0.5, 2 * weight->noise.spacing);
    const double gain =
        shot_view_mean(weight, end - half, end) - shot_view_mean(weight, begin, begin + half);
    return fabs(gain) < some_mass;
}

bool shot_ran_no_water(const shot_course *course) {
    const bool no_meter = course->input->no_flow == SHOT_LACK_CHANGE;
    if (meter_shows_none(course))
        return gauge_stays_under(course, shot_no_pressure) || scale_shows_none(course);
    /* a boiler's gauge shows less than any puck takes */
    return no_meter && scale_shows_none(course) && gauge_stays_under(course, puck_pressure);
}
