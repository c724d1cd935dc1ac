/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When water enters the basket. */
#include <math.h>

#include "detect/course.h"
#include "detect/rest_onset.h"

static const double longest_fill =
    8; /* s that a basket takes to fill; common practice, no source */

/* What a meter rises by that is no noise.  A person who writes figures down rounds them: by one
 * step it is up. */
static double least_rise(const shot_channel_view *flow) {
    const bool rounded = flow->noise.sd <= 1.001 * flow->step / sqrt(12);
    return rounded && flow->noise.spacing >= 1 ? 0.6 * flow->step : 4 * flow->noise.sd;
}

void shot_find_water(const shot_course *course, shot_phases *out) {
    const shot_channel_view *flow = &course->input->flow, *puck = &course->puck;
    double hold = 0.5;
    if (flow->n >= 5 && course->flow_top - course->flow_rest > 6 * flow->noise.sd) {
        double limit = course->flow_rest +
                       fmax(0.1 * (course->flow_top - course->flow_rest), least_rise(flow));
        double about = shot_rest_first_over(flow, limit, hold);
        if (!isnan(about)) {
            out->late = flow->y[0] > limit && about == flow->t[0];
            out->water_in = out->late ? shot_rest_left_before(flow)
                                      : shot_rest_onset(flow, course->flow_rest, limit, about);
            return;
        }
    }
    if (puck->n < 5 || !(course->top - course->rest > fmax(1, 10 * puck->noise.sd)))
        return;
    double limit = course->rest + fmax(0.03 * (course->top - course->rest), 5 * puck->noise.sd);
    double about = shot_rest_first_over(puck, limit, hold);
    if (isnan(about))
        return;
    out->from_pressure = true; /* the basket took water before it showed */
    out->late = about == puck->t[0];
    out->water_in =
        out->late ? shot_rest_left_before(puck) : shot_rest_onset(puck, course->rest, limit, about);
    if (!out->late)
        out->water_in.low = fmax(puck->t[0], out->water_in.at - longest_fill);
}
