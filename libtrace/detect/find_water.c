/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When water enters the basket. */
#include <math.h>

#include "detect/brewing.h"
#include "detect/counted_water.h"
#include "detect/course.h"
#include "detect/fresh_values.h"
#include "detect/rest_onset.h"

/* Does the log begin with one figure in row after row?  A meter that counts shows it while nothing
 * runs, and how its counts alternate later is no noise of its rest. */
static bool rests_silently(const shot_channel_view *flow) {
    static const double least = 1; /* s; common practice, no source */
    size_t n = 1;
    while (n < flow->n && flow->y[n] == flow->y[0])
        n++;
    return n >= 5 && n < flow->n && flow->t[n - 1] - flow->t[0] >= least;
}

/* What a meter of so much at most rises by that is no noise, nor a trickle of a tenth of that.  A
 * person who writes figures down rounds them: by one step it is up.  So is a meter that counts, if
 * its count is no trickle. */
static double least_rise(const shot_channel_view *flow, double most) {
    const bool rounded = flow->noise.sd <= 1.001 * flow->step / sqrt(12);
    const bool silent = rests_silently(flow);
    if (silent && flow->step > 0.05 * most)
        return 0.6 * flow->step;
    const double rise = silent                                           ? 0
                        : rounded && flow->noise.spacing >= shot_by_hand ? 0.6 * flow->step
                                                                         : 4 * flow->noise.sd;
    return fmax(0.1 * most, rise);
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

/* The highest figure of the next while, one of which may be the first that counted all the time. */
static double next_figure(const shot_channel_view *flow, double stands, size_t i) {
    double most = flow->y[i];
    for (size_t k = i; k < flow->n && flow->t[k] <= flow->t[i] + 1.5 * stands; k++)
        most = fmax(most, flow->y[k]);
    return most;
}

/* The first row that shows pressure, which a basket does not have without water; NaN without one.
 */
static double under_pressure(const shot_course *course) {
    const shot_channel_view *puck = &course->puck;
    const double none = course->rest + fmax(shot_no_pressure, 5 * puck->noise.sd);
    return puck->n < 5 ? NAN : shot_rest_first_over(puck, none, 0.5);
}

/* A figure that stands in several rows tells of the time since the one before: at its first row the
 * meter has counted for as long as this one stands, or has looked after so long, and water may have
 * come at any time in it, and a row more, since rows are not the meter's; before that it passed
 * unseen where it was less than the meter counts by, or a tenth of the flow, which passes for rest.
 */
static shot_status leave_flow_rest(const shot_course *course, double limit, double about,
                                   shot_instant *out) {
    const shot_channel_view *flow = &course->input->flow;
    const double rest = course->flow_rest;
    const size_t over = shot_view_first(flow, about);
    const double stands =
        fmax(stands_for(flow, rest, over), flow->rows > 0 ? 0 : shot_view_least_stand(flow));
    const double row = flow->rows > 0 ? flow->rows : flow->noise.spacing;
    SHOT_TRY(shot_rest_onset(flow, rest, limit, about, out));
    if (!(stands > 0))
        return SHOT_OK;
    const double first = flow->t[first_figure(flow, rest, stands, over)];
    const bool sure = first < about || rests_silently(flow); /* water was in by then */
    const double unseen = fmin(1, fmax(0.1, flow->step / (next_figure(flow, stands, over) - rest)));
    const double low = fmin(first - (1 + unseen) * (stands + row) - row, out->low);
    const double shown = sure ? first : fmax(about, out->high), pressed = under_pressure(course);
    const double high = pressed > low ? fmin(shown, pressed) : shown;
    *out = (shot_instant){(low + fmin(first, high)) / 2, low, high};
    return SHOT_OK;
}

/* What is over rest: by no rounding, nor by what a zero wanders by. */
static double over_rest(const shot_channel_view *puck, double rest) {
    static const double wanders = 0.1; /* bar; common practice, no source */
    return rest + fmax(0.6 * shot_channel_view_written_step(puck), wanders);
}

/* A person starts pump and stopwatch at once, and writes the first figure down a second or two
 * later.  Does that show pressure?  It lies over rest, and the next ones rise at once, or go up and
 * then back to rest, which a zero that is off does not. */
static bool first_figure_is_wet(const shot_channel_view *puck, double rest) {
    const double over = over_rest(puck, rest), rises = puck->y[0] + over - rest;
    double most = -INFINITY;
    size_t n = 0;
    if (puck->noise.spacing < shot_by_hand)
        return false;
    for (; n < puck->n && puck->y[n] > over; n++)
        most = fmax(most, puck->y[n]);
    return n >= 2 && (puck->y[1] > rises || (n < puck->n && most > rises));
}

/* The sample at which the pressure left its rest for good before `about`: the first of those that
 * all lie over it.  Where figures flicker between coarse steps, or a long rest shows no noise and
 * a rise does, their noise hides a slow rise for seconds. */
static size_t left_for_good(const shot_channel_view *puck, double rest, double about) {
    const double over = over_rest(puck, rest);
    size_t i = shot_view_first(puck, about);
    while (i > 0 && puck->y[i - 1] > over)
        i--;
    return i;
}

/* A logger runs before the pump does, or starts with it and writes its first figure a row later. */
static double first_written(const shot_channel_view *puck) {
    return puck->t[0] - puck->noise.spacing;
}

/* About the time at which it is over `limit`. */
static shot_status leave_pressure_rest(const shot_channel_view *puck, double rest, double limit,
                                       double about, shot_instant *out) {
    static const double slow = 1; /* s: what the fit of an onset does not look back over */
    const size_t left = left_for_good(puck, rest, about);
    if (left > 0 && about - puck->t[left] > slow)
        *out = shot_instant_widened(shot_rest_between(puck, left), shot_edge_slack(puck));
    else
        SHOT_TRY(shot_rest_onset(puck, rest, limit, about, out));
    *out = shot_instant_not_after(*out, about); /* it shows pressure then */
    out->high = fmin(out->high, about + shot_edge_slack(puck));
    out->low = fmax(first_written(puck), out->at - shot_longest_fill);
    if (left == 0 && puck->noise.spacing >= shot_by_hand)
        out->low = NAN; /* no figure shows it at rest */
    return SHOT_OK;
}

/* The least pressure that shows over a rest. */
static double shows_over(const shot_course *course, double rest) {
    return rest + fmax(0.03 * (course->top - course->rest), 5 * course->puck.noise.sd);
}

/* The rest of the gauge before the puck comes under pressure, where the log begins over it and it
 * falls at first: water does not do that, a sensor that was hot, or warms up, does. */
static double drifted_rest(const shot_course *course) {
    const shot_channel_view *level = &course->level;
    const double pressed = under_pressure(course);
    double lowest = INFINITY;
    for (size_t i = 0; i < level->n && level->t[i] < pressed; i++)
        lowest = fmin(lowest, level->y[i]);
    const double step = course->input->pressure.step;
    return lowest < level->y[0] - fmax(step / 2, 4 * course->level_se) ? lowest : course->rest;
}

/* A counter that stood at nothing when the log began had not yet counted. */
static bool from_nothing(const shot_channel_view *water) {
    return water->n > 1 && water->y[0] < fmax(water->step, water->y[1] - water->y[0]);
}

shot_status shot_find_water(const shot_course *course, shot_phases *out) {
    const shot_channel_view *flow = &course->input->flow, *puck = &course->puck;
    const shot_channel_view *water = &course->input->water;
    double hold = 0.5;
    if (flow->n >= 5 && (water->n > 0 || rests_silently(flow) ||
                         course->flow_top - course->flow_rest > 6 * flow->noise.sd)) {
        const double most = course->flow_top - course->flow_rest;
        const double limit = course->flow_rest + least_rise(flow, most);
        double about = shot_rest_first_over(flow, limit, hold);
        if (!isnan(about)) {
            out->late = flow->y[0] > limit && about == flow->t[0] && !from_nothing(water);
            out->water_in = shot_rest_left_before(flow);
            if (!out->late && water->n > 0)
                out->water_in = shot_counted_onset(water, about);
            return out->late || water->n > 0
                       ? SHOT_OK
                       : leave_flow_rest(course, limit, about, &out->water_in);
        }
    }
    if (puck->n < 5 || !(course->top - course->rest > fmax(shot_least_brew, 10 * puck->noise.sd)))
        return SHOT_OK;
    double rest = course->rest, limit = shows_over(course, rest);
    double about = shot_rest_first_over(puck, limit, hold);
    if (about == puck->t[0]) { /* or so it seems under a zero that drifts */
        rest = drifted_rest(course);
        limit = shows_over(course, rest);
        about = shot_rest_first_over(puck, limit, hold);
    }
    if (isnan(about))
        return SHOT_OK;
    out->from_pressure = true; /* the basket took water before it showed */
    out->late = about == puck->t[0] || first_figure_is_wet(puck, rest);
    out->water_in = shot_rest_left_before(puck);
    return out->late ? SHOT_OK : leave_pressure_rest(puck, rest, limit, about, &out->water_in);
}
