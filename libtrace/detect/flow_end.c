/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The end of the water's flow: at once, or let down evenly. */
#include "detect/flow_end.h"

#include <math.h>

#include "detect/fresh_values.h"

/* Of the highest flow: what swings as wide, as under a pump that its controller drives up
 * and down, is no noise (common practice, no source). */
static const double coarsest = 0.25;

double shot_flow_level_se(const shot_course *course) {
    const shot_noise *noise = &course->input->flow.noise;
    if (course->input->water.n > 0)
        return 0;
    return noise->sd * sqrt(noise->inflation / fmax(1, 0.3 / noise->spacing));
}

double shot_flow_last_over(const shot_course *course, double limit, double from, double until) {
    const shot_channel_view *flow = &course->flow_level;
    for (size_t i = shot_view_first(flow, until); i-- > 0 && flow->t[i] > from;)
        if (flow->y[i] - course->flow_rest > limit)
            return flow->t[i];
    return NAN;
}

/* The last time at which flow was over half of what it was from `since` to `until`; NaN where that
 * is not over `least`, or flow goes on at less. *after gets what it is then. */
static double falls_to_nothing(const shot_course *course, double least, double since, double until,
                               double runs, double *after) {
    const shot_channel_view *flow = &course->flow_level;
    const double rest = course->flow_rest, beyond = fmax(1, 3 * flow->noise.spacing);
    const double usual = shot_view_mean(flow, since, until) - rest;
    *after = NAN;
    if (!(usual > least))
        return NAN;
    const double stops = shot_flow_last_over(course, usual / 2, since, runs);
    *after = shot_view_mean(flow, stops + beyond / 2, stops + 2 * beyond) - rest;
    return *after < usual / 4 ? stops : NAN;
}

static double brewing_flow(const shot_course *course, double from, double pressed) {
    return shot_view_mean(&course->flow_level, from, pressed) - course->flow_rest;
}

/* What is next to nothing of the brew's flow, ml/s, where the highest is `top`. */
static double no_flow(const shot_course *course, double brewing, double top) {
    const double clear = fmin(10 * shot_flow_level_se(course), coarsest * top);
    return fmax(clear, shot_next_to_nothing * brewing);
}

bool shot_flow_tells(const shot_course *course, double from, double pressed) {
    const shot_phase_input *input = course->input;
    return input->flow.n >= 5 && input->water.n == 0 &&
           brewing_flow(course, from, pressed) > 20 * shot_flow_level_se(course);
}

double shot_flow_runs_until(const shot_course *course, double from, double pressed) {
    const double brewing = brewing_flow(course, from, pressed);
    return shot_flow_last_over(course, no_flow(course, brewing, brewing), from, pressed + 1);
}

double shot_flow_stops(const shot_course *course, double from, double pressed) {
    const double top = course->flow_top - course->flow_rest;
    const double least = no_flow(course, brewing_flow(course, from, pressed), top);
    const double runs = shot_flow_last_over(course, least, from, pressed + 1);
    double after, stops = falls_to_nothing(course, least, fmax(from, runs - shot_judged_by),
                                           runs - 1, runs + 1e-9, &after);
    if (isnan(stops) && after > least) /* it goes on at less, and falls later */
        stops = falls_to_nothing(course, least, runs - 1, runs - 0.5, runs + 1e-9, &after);
    return stops;
}

/* When the flow is at rest, as far as its noise and its steps tell, behind `from`. */
static double first_rest(const shot_course *course, double from) {
    const shot_channel_view *flow = &course->flow_level;
    const double slack = fmax(2 * shot_flow_level_se(course), course->input->flow.step / 2);
    size_t i = shot_view_first(flow, from);
    while (i < flow->n && flow->y[i] - course->flow_rest > slack)
        i++;
    return i < flow->n ? flow->t[i] : INFINITY;
}

shot_instant shot_flow_let_down(const shot_course *course, double from, double pressed) {
    static const double evenly = 0.3;  /* of the time, for either half of the way, at the least;
                                          common practice, no source */
    static const double answers = 0.5; /* s: a meter's lag of first order; likewise */
    const shot_instant never = {NAN, NAN, NAN};
    const shot_channel_view *flow = &course->input->flow, *level = &course->level;
    const double row = fmax(flow->noise.spacing, flow->rows);
    const double stand = fmax(row, shot_view_least_stand(flow));
    const double brewing = brewing_flow(course, from, pressed);
    const double least = no_flow(course, brewing, brewing);
    const double runs = shot_flow_runs_until(course, from, pressed);
    const double half = shot_flow_last_over(course, brewing / 2, from, runs + 1e-9);
    const double middle = shot_flow_last_over(course, (brewing / 2 + least) / 2, from, runs + 1e-9);
    const double way = brewing / 2 - least, took = runs - half, share = (middle - half) / took;
    const double pace = took / way; /* s for each ml/s */
    if (!(way > 5 * shot_flow_level_se(course)) || !(pace * brewing > shot_let_go) ||
        !(took > answers * log(brewing / 2 / least) + stand) ||
        !(share > evenly && share < 1 - evenly))
        return never;
    const double before = shot_view_at(level, half) - course->rest;
    if (!(shot_view_at(level, runs) - course->rest < 2 * before / 3))
        return never;
    /* on the line from the one to the other, what is left goes in as long as its share of the way
     */
    const double left = pace * least, none = first_rest(course, runs);
    return (shot_instant){fmin(runs + left, fmin(none, pressed)), runs - stand,
                          fmin(runs + 2 * left, none) + stand};
}

bool shot_water_runs_on(const shot_course *course, double eased) {
    const shot_channel_view *flow = &course->input->flow;
    if (flow->n < 5)
        return false;
    const double end = flow->t[flow->n - 1], row = fmax(flow->noise.spacing, flow->rows);
    const double late = shot_meter_late + fmax(row, shot_view_least_stand(flow));
    const double usual = shot_view_mean(flow, eased - shot_judged_by, eased) - course->flow_rest;
    const double last = shot_view_mean(flow, end - fmax(0.5, 2 * row), end) - course->flow_rest;
    return end - eased > late && usual > 10 * shot_flow_level_se(course) && last > usual / 4;
}
