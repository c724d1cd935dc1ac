/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Channels with their levels. */
#include "detect/course.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/median.h>

#include "detect/brewing.h"
#include "detect/fresh_values.h"
#include "detect/meter_lag.h"
#include "detect/puck_pressure.h"

static const double third = 0.3; /* s: longer than a pump's stroke, shorter than any phase */

/* The length of means whose standard error is `share` of the whole range. */
static double mean_length(const shot_channel_view *view, double top, double share) {
    double samples = view->noise.sd * sqrt(view->noise.inflation) / (share * top);
    double needed = samples * samples * view->noise.spacing;
    return fmin(fmax(third, needed), shot_longest_mean);
}

/* The level of a channel at rest, the least that it knows for a while, if it is near zero; more,
 * and the log was cut before it came to rest, and 0 is all that can be said.  Less, and its zero is
 * off, if it stays there for a second: a puck has no suction. */
static double rest_level(const shot_channel_view *level, double near, double *work) {
    double least = INFINITY;
    size_t n = 0;
    for (size_t i = 0; i < level->n; i++)
        least = fmin(least, level->y[i]);
    for (size_t i = 0; i < level->n; i++)
        if (level->y[i] <= least + 3 * level->noise.sd)
            work[n++] = level->y[i];
    double rest = n > 0 ? shot_median(work, n) : 0;
    const bool stays = n >= 3 && (double)n * level->noise.spacing >= 1;
    return rest <= near && (rest >= -near || stays) ? rest : 0;
}

/* How many figures lie at that level. */
static size_t count_at(const shot_channel_view *level, double value) {
    size_t n = 0;
    for (size_t i = 0; i < level->n; i++)
        n += fabs(level->y[i] - value) < level->step / 2;
    return n;
}

/* Figures in steps wider than their noise now and then show the step under the level at which they
 * rest: what most of the first ones show is the rest, if it is that or one step more.  The first
 * ones of a hand may show pressure: what it shows more often is its rest. */
static double stepped_rest(const shot_channel_view *level, double rest, double *work) {
    static const double first = 1; /* s, or five figures */
    size_t n = 0;
    if (!(level->step > 3 * level->noise.sd))
        return rest;
    for (; n < level->n && (n < 5 || level->t[n] <= level->t[0] + first); n++)
        work[n] = level->y[n];
    const double shown = n > 0 ? shot_median(work, n) : rest;
    if (level->noise.spacing >= shot_by_hand && count_at(level, rest) > count_at(level, shown))
        return rest;
    return fabs(shown - rest) < 1.5 * level->step ? shown : rest;
}

/* How far a gauge's zero may be off.  A log that begins at the lowest level that it shows began
 * before its shot: nothing is under pressure there, even if the gauge shows absolute pressure. */
static double most_off(const shot_channel_view *level) {
    static const double zero = 0.6, absolute = 1.2, alike = 0.1; /* bar */
    const double begin = shot_view_mean(level, level->t[0], level->t[0] + 1);
    double least = INFINITY;
    for (size_t i = 0; i < level->n; i++)
        least = fmin(least, level->y[i]);
    return begin - least < alike + 3 * level->noise.sd ? absolute : zero;
}

static double highest(const shot_channel_view *level) {
    double top = 0;
    for (size_t i = 0; i < level->n; i++)
        top = fmax(top, level->y[i]);
    return top;
}

static shot_status take_flow(shot_course *course, double *work) {
    const shot_channel_view *flow = &course->input->flow;
    if (flow->n < 5)
        return SHOT_OK;
    SHOT_TRY(shot_view_smooth(flow, third / 2, &course->flow_level));
    course->flow_top = highest(&course->flow_level);
    course->flow_rest = rest_level(&course->flow_level, 0.1 * course->flow_top, work);
    return SHOT_OK;
}

/* A log that starts when water runs has no fill by which a restrictor could be told from the puck.
 */
static bool starts_wet(const shot_course *course) {
    const shot_channel_view *flow = &course->flow_level;
    double limit = fmax(0.1 * (course->flow_top - course->flow_rest), 4 * flow->noise.sd);
    return flow->n > 0 && flow->y[0] - course->flow_rest > limit &&
           course->input->flow.y[0] - course->flow_rest > limit; /* and no row before the water */
}

/* What a restrictor that took all of the pressure would be, bar.s2/ml2, in the mean. */
static double pressure_by_flow(const shot_course *course, double from, double to) {
    const double flow = shot_view_mean(&course->flow_level, from, to) - course->flow_rest;
    return (shot_view_mean(&course->input->pressure, from, to) - course->rest) / (flow * flow);
}

/* Does the basket still fill when the log starts?  Then the same pressure drives water at least
 * twice as fast as it does later through the puck (common practice, no source). */
static bool starts_filling(const shot_course *course) {
    static const double twice = 2, first = 0.5; /* s */
    const shot_channel_view *flow = &course->flow_level;
    const double running = course->flow_rest + 0.1 * (course->flow_top - course->flow_rest);
    const double start = flow->t[0];
    size_t last = flow->n - 1;
    while (last > 0 && flow->y[last] < running)
        last--;
    const double end = flow->t[last], since = fmax(end - shot_brewed, (start + end) / 2);
    return pressure_by_flow(course, since, end) >
           twice * twice * pressure_by_flow(course, start, start + first);
}

/* What a lone sample shows above both of its neighbours, which are so near that no peak fits
 * between them, is no level: what shot-clean lets through beside a fall. */
static void clip_spikes(shot_channel_view *view) {
    static const double near = 0.52, clear = 0.25; /* s, of the neighbours; common practice */
    for (size_t i = 1; i + 1 < view->n; i++) {
        const double beside = fmax(view->y[i - 1], view->y[i + 1]);
        if (view->t[i + 1] - view->t[i - 1] < near &&
            view->y[i] - beside > fmax(clear * beside, 8 * view->noise.sd))
            view->y[i] = beside;
    }
}

/* The levels of the puck's pressure. */
static shot_status take_level(shot_course *course) {
    shot_channel_view puck;
    SHOT_TRY(shot_view_copy(&course->puck, &puck));
    clip_spikes(&puck);
    const double rough = highest(&puck), spacing = puck.noise.spacing;
    const double length = mean_length(&puck, rough > 0 ? rough : 1, 0.005);
    const shot_status status = shot_view_smooth(&puck, length / 2, &course->level);
    course->level_length = length;
    course->level_se = puck.noise.sd * sqrt(puck.noise.inflation) / sqrt(fmax(1, length / spacing));
    shot_channel_view_free(&puck);
    SHOT_TRY(status);
    course->top = highest(&course->level);
    return SHOT_OK;
}

static shot_status take_pressure(shot_course *course, double *work) {
    const shot_phase_input *input = course->input;
    const shot_channel_view *pressure = &input->pressure;
    shot_channel_view shown;
    if (pressure->n < 5)
        return SHOT_OK;
    SHOT_TRY(shot_view_smooth(pressure, third / 2, &shown));
    course->rest = rest_level(&shown, most_off(&shown), work);
    course->rest = stepped_rest(&shown, course->rest, work);
    shot_channel_view_free(&shown);
    const bool wet = starts_wet(course);
    const bool none = input->puck_gauge || (wet && !starts_filling(course));
    shot_restrictor *restrictor = &course->restrictor;
    restrictor->half = shot_restrictor_half(&input->flow);
    if (!none)
        SHOT_TRY(shot_restriction(pressure, &input->flow, course->rest, input->pump_gauge,
                                  &restrictor->filled, &restrictor->k));
    if (restrictor->k > 0 && !wet) /* a flow that never starts shows no lag */
        restrictor->lag = shot_meter_lag(pressure, &input->flow, course->rest, course->flow_rest,
                                         restrictor->filled);
    if (wet)
        restrictor->filled = NAN;
    SHOT_TRY(shot_puck_pressure(pressure, &input->flow, restrictor, course->rest, &course->puck));
    return take_level(course);
}

shot_status shot_course_new(const shot_phase_input *input, shot_course *out) {
    *out = (shot_course){.input = input};
    size_t n = input->pressure.n > input->flow.n ? input->pressure.n : input->flow.n;
    double *work = malloc((n + 1) * sizeof *work);
    shot_status status = work != NULL ? take_flow(out, work) : SHOT_ERR_MEMORY;
    if (status == SHOT_OK)
        status = take_pressure(out, work);
    if (status == SHOT_OK && input->weight.n >= 5)
        status = shot_view_fresh(&input->weight, &out->weight);
    free(work);
    return status;
}

void shot_course_free(shot_course *course) {
    shot_channel_view_free(&course->puck);
    shot_channel_view_free(&course->level);
    shot_channel_view_free(&course->flow_level);
    shot_channel_view_free(&course->weight);
}

double shot_course_last_pressed(const shot_course *course) {
    const shot_channel_view *puck = &course->puck, *level = &course->level;
    double limit = course->rest + shot_no_pressure;
    for (size_t i = level->n; i-- > 1;)
        if (level->y[i] > limit && puck->y[i] > limit && puck->y[i - 1] > limit)
            return level->t[i];
    return level->n > 0 ? level->t[level->n - 1] : NAN;
}

double shot_course_let_go(const shot_course *course, const shot_instant *water) {
    const shot_channel_view *level = &course->level;
    const double high = course->rest + shot_main_share * (course->top - course->rest);
    const double before = fmin(water->at, water->low);
    size_t i = shot_view_first(level, before);
    if (i == 0 || level->y[i - 1] < high) /* nothing was before, or no pressure */
        return water->at;
    while (i < level->n && level->y[i] >= high)
        i++;
    const size_t gone = i;
    while (i < level->n && level->y[i] < high)
        i++;
    return i < level->n ? fmax(water->at, level->t[gone]) : water->at;
}

shot_instant shot_course_shown_late(const shot_course *course, shot_instant shown, double left) {
    const double lag = course->input->gauge_lag, at_once = -lag * log(left);
    shot_instant found = shot_instant_shown_late(shown, lag);
    if (at_once > lag) /* not where no lag is known */
        found.low -= at_once - lag;
    return found;
}
