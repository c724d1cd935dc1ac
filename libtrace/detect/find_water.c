/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When water enters the basket. */
#include <math.h>

#include "detect/brewing.h"
#include "detect/course.h"
#include "detect/fresh_values.h"
#include "detect/rest_onset.h"

/* What a meter rises by that is no noise.  A person who writes figures down rounds them: by one
 * step it is up. */
static double least_rise(const shot_channel_view *flow) {
    const bool rounded = flow->noise.sd <= 1.001 * flow->step / sqrt(12);
    return rounded && flow->noise.spacing >= 1 ? 0.6 * flow->step : 4 * flow->noise.sd;
}

/* For how long the figure of sample i stands, where it looks as if a meter had counted for so long:
 * it stands in several rows, and is kept once, or in three and more between two leaps up, which a
 * meter with news in each row passes on its way.  0 where not. */
static double stands_for(const shot_channel_view *flow, double rest, size_t i) {
    const double least = fmax(2.5 * flow->step, 5 * flow->noise.sd);
    size_t next = i + 1;
    while (flow->rows == 0 && next < flow->n && flow->y[next] == flow->y[i])
        next++;
    if (next == flow->n)
        return 0;
    const double stands = flow->t[next] - flow->t[i];
    if (flow->rows > 0)
        return stands > 1.5 * flow->rows ? fmin(stands, 2 * flow->noise.spacing) : 0;
    const bool stair = flow->y[next] - flow->y[i] > least && flow->y[i] - rest > least;
    return next - i >= 3 && stair ? stands : 0;
}

/* A meter that counts over a while shows in its first figure what came in a part of it, which may
 * be little: the row at which the figure before that at sample i came up, if it is clear of rest.
 */
static size_t first_figure(const shot_channel_view *flow, double rest, double stands, size_t i) {
    const double clear = rest + fmax(3 * flow->noise.sd, 0.6 * flow->step);
    size_t first = i;
    while (first > 0 && flow->y[first - 1] > clear &&
           flow->t[i] - flow->t[first - 1] < 1.5 * stands)
        first--;
    return first;
}

/* A figure that stands in several rows tells of the time since the one before: at its first row the
 * meter has counted for as long as this one stands, or has looked after so long, and water may have
 * come at any time in it; before that it passed unseen where it was less than the meter counts by,
 * or a tenth of the flow, which passes for rest. */
static shot_status leave_flow_rest(const shot_channel_view *flow, double rest, double limit,
                                   double about, shot_instant *out) {
    const size_t over = shot_view_first(flow, about);
    const double stands =
        fmax(stands_for(flow, rest, over), flow->rows > 0 ? 0 : shot_view_least_stand(flow));
    const double row = flow->rows > 0 ? flow->rows : flow->noise.spacing;
    SHOT_TRY(shot_rest_onset(flow, rest, limit, about, out));
    if (!(stands > 0))
        return SHOT_OK;
    const double first = flow->t[first_figure(flow, rest, stands, over)];
    const double unseen = fmin(1, fmax(0.1, flow->step / (flow->y[over] - rest)));
    const double low = first - (1 + unseen) * stands - row;
    *out = (shot_instant){(low + first) / 2, fmin(low, out->low),
                          first < about ? first : fmax(about, out->high)};
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
            out->water_in = shot_rest_left_before(flow);
            return out->late
                       ? SHOT_OK
                       : leave_flow_rest(flow, course->flow_rest, limit, about, &out->water_in);
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
    out->water_in = shot_rest_left_before(puck);
    if (out->late)
        return SHOT_OK;
    SHOT_TRY(shot_rest_onset(puck, course->rest, limit, about, &out->water_in));
    out->water_in.low = fmax(puck->t[0], out->water_in.at - shot_longest_fill);
    return SHOT_OK;
}
