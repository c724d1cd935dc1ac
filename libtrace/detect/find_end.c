/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The end of the brew: the pump stops, or the handle goes back. */
#include <math.h>

#include "detect/course.h"
#include "detect/power_onset.h"

static const double nothing = 0.5;  /* bar */
static const double falling = 0.05; /* of itself in a second: faster than any brew declines */

/* Where the last fall of the pressure began: back from the end over rest and fall. */
static double last_fall(const shot_course *course, double from) {
    const shot_channel_view *level = &course->level;
    const double span = fmax(0.4, 2 * level->noise.spacing);
    double low = course->rest + 0.3 * (course->top - course->rest);
    for (size_t i = level->n; i-- > 0 && level->t[i] > from;) {
        double here = level->y[i], before = shot_view_at(level, level->t[i] - span);
        double fall = fmax(falling * span * (before - course->rest), 3 * level->noise.sd);
        if (here > low && before - here < fall)
            return level->t[i];
    }
    return NAN;
}

/* Back from the end over rest: the last time at which flow was over half of what it was in the
 * seconds before. */
static double last_flow(const shot_course *course, double from, double about) {
    const shot_channel_view *flow = &course->flow_level;
    double usual = shot_view_mean(flow, fmax(from, about - 4), about - 1) - course->flow_rest;
    double noise = course->input->flow.noise.sd;
    if (!(usual > 5 * noise))
        return NAN;
    for (size_t i = flow->n; i-- > 0 && flow->t[i] > about - 3;)
        if (flow->y[i] - course->flow_rest > usual / 2)
            return flow->t[i];
    return NAN;
}

/* Where a channel starts to fall, to within a sample: the line before, and the way down to half. */
static shot_instant fall_start(const shot_channel_view *view, double about, double rest,
                               double before) {
    double spacing = view->noise.spacing, reach = fmax(1.5, 6 * spacing);
    double usual = shot_view_mean(view, about - reach, about - before);
    double half = rest + (usual - rest) / 2, slack = 3 * view->noise.sd;
    size_t i = shot_view_first(view, about - before);
    while (i + 1 < view->n && view->y[i] > half)
        i++;
    if (i > 0 && view->y[i - 1] > usual - fmax(slack, 0.1 * (usual - rest)))
        return (shot_instant){(view->t[i - 1] + view->t[i]) / 2, view->t[i - 1], view->t[i]};
    double end = fmin(view->t[i], about + reach);
    shot_power_rule rule = {.from = about - reach,
                            .to = end,
                            .earliest = fmax(about - reach / 2, view->t[0]),
                            .latest = end,
                            .level = usual,
                            .level_sd = INFINITY,
                            .sloped = true,
                            .sign = -1,
                            .powers = 2};
    return shot_power_onset(view, &rule);
}

void shot_find_end(const shot_course *course, shot_phases *out) {
    const shot_channel_view *puck = &course->puck, *flow = &course->input->flow;
    if (isnan(out->full.at))
        return;
    double about = last_fall(course, out->full.at);
    if (isnan(about) || about >= puck->t[puck->n - 1] - 1.5 * puck->noise.spacing)
        return;
    double stops = flow->n >= 5 ? last_flow(course, out->full.at, about) : NAN;
    double slack = fmax(0.6, 2 * puck->noise.spacing);
    shot_instant shut = {NAN, NAN, NAN}, falls = fall_start(puck, about, course->rest, slack);
    if (!isnan(stops) && fabs(stops - about) < 3)
        shut = fall_start(flow, stops, course->flow_rest, slack);
    /* pressure may be eased off long before the pump stops; but a slow meter may show it late */
    out->pump_off = shot_instant_widened(
        shut.low > falls.high + slack ? shut : shot_instant_of_both(&shut, &falls),
        shot_edge_slack(puck) / 2);
    if (isnan(out->pump_off.at))
        return;
    out->released = shot_onset_crossing(puck, out->pump_off.at, puck->t[puck->n - 1],
                                        course->rest + nothing, -1, 0.3);
}
