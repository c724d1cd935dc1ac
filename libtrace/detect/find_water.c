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

/* Where a channel leaves its rest, or that it had when the log began. */
static shot_status leave_rest(const shot_channel_view *view, double rest, double limit,
                              double about, shot_phases *out) {
    if (!out->late)
        return shot_rest_onset(view, rest, limit, about, &out->water_in);
    out->water_in = shot_rest_left_before(view);
    return SHOT_OK;
}

shot_status shot_find_water(const shot_course *course, shot_phases *out) {
    const shot_channel_view *flow = &course->input->flow, *puck = &course->puck;
    double hold = 0.5;
    if (flow->n >= 5 && course->flow_top - course->flow_rest > 6 * flow->noise.sd) {
        double limit = course->flow_rest +
                       fmax(0.1 * (course->flow_top - course->flow_rest), least_rise(flow));
        double about = shot_rest_first_over(flow, limit, hold);
        if (!isnan(about)) {
            out->late = flow->y[0] > limit && about == flow->t[0];
            return leave_rest(flow, course->flow_rest, limit, about, out);
        }
    }
    if (puck->n < 5 || !(course->top - course->rest > fmax(1, 10 * puck->noise.sd)))
        return SHOT_OK;
    double limit = course->rest + fmax(0.03 * (course->top - course->rest), 5 * puck->noise.sd);
    double about = shot_rest_first_over(puck, limit, hold);
    if (isnan(about))
        return SHOT_OK;
    out->from_pressure = true; /* the basket took water before it showed */
    out->late = about == puck->t[0];
    SHOT_TRY(leave_rest(puck, course->rest, limit, about, out));
    if (!out->late)
        out->water_in.low = fmax(puck->t[0], out->water_in.at - longest_fill);
    return SHOT_OK;
}
