/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The course of a shot.  Levels are looked for in means, so that a spike is no level; instants are
 * then placed between samples by fits to the samples themselves. */
#include "detect/phases.h"

#include <math.h>

#include "detect/brewing.h"
#include "detect/course.h"
#include "detect/log_holes.h"
#include "detect/logger_filter.h"
#include "detect/main_run.h"
#include "detect/no_water.h"
#include "detect/row_means.h"

static const shot_instant never = {NAN, NAN, NAN};

/* ---- more than one shot in a log ---- */

/* Did the cup get nothing until then, though it does later?  Then the puck was filled, and let go.
 */
static bool gave_nothing(const shot_course *course, double until) {
    const shot_channel_view *weight = &course->weight;
    if (weight->n == 0)
        return false;
    const double start = fmax(course->level.t[0], weight->t[0]), end = weight->t[weight->n - 1];
    return shot_beverage(course, start, until) <= shot_least_beverage &&
           shot_beverage(course, until, end) > shot_least_beverage;
}

/* The time between two shots: the pressure is up for as long as in a brew, gone for as long, and up
 * again; NaN if there is one shot. */
static double between_shots(const shot_course *course) {
    const shot_channel_view *level = &course->level;
    const double high = course->rest + shot_main_share * (course->top - course->rest);
    const double none = course->rest + shot_no_pressure;
    double up = NAN, down = NAN;
    bool over = false;
    if (!(high > none)) /* water through an empty group: up is as little as gone */
        return NAN;
    for (size_t i = 0; i < level->n; i++) {
        double t = level->t[i], y = level->y[i];
        up = y < high ? NAN : isnan(up) ? t : up;
        if (t - up >= shot_brewed && over && !isnan(down)) {
            if (!gave_nothing(course, down + shot_brewed))
                return down + shot_brewed;
            over = false;
            down = NAN;
        }
        over = over || t - up >= shot_brewed;
        if (y >= none && t - down < shot_brewed)
            down = NAN;
        else if (y < none && over && isnan(down))
            down = t;
    }
    return NAN;
}

static void cut_view(shot_channel_view *view, double until) {
    view->n = shot_view_first(view, until);
}

static shot_phase_input until(const shot_phase_input *input, double time) {
    shot_phase_input shorter = *input;
    cut_view(&shorter.pressure, time);
    cut_view(&shorter.flow, time);
    cut_view(&shorter.weight, time);
    cut_view(&shorter.outflow, time);
    cut_view(&shorter.water, time);
    return shorter;
}

/* ---- what a person marked ---- */

static const shot_moment in_order[] = {SHOT_WATER_IN, SHOT_FILL_END, SHOT_RISE,
                                       SHOT_FULL,     SHOT_PUMP_OFF, SHOT_RELEASED};
enum { IN_ORDER = sizeof in_order / sizeof *in_order };

shot_instant *shot_phases_moment(shot_phases *phases, shot_moment moment) {
    shot_instant *const moments[SHOT_MOMENTS] = {[SHOT_WATER_IN] = &phases->water_in,
                                                 [SHOT_FILL_END] = &phases->fill_end,
                                                 [SHOT_RISE] = &phases->rise,
                                                 [SHOT_FULL] = &phases->full,
                                                 [SHOT_PUMP_OFF] = &phases->pump_off,
                                                 [SHOT_RELEASED] = &phases->released,
                                                 [SHOT_FIRST_DRIP] = &phases->first_drip};
    return moments[moment];
}

shot_instant shot_phase_known(const shot_phase_input *input, shot_moment moment) {
    return input->by_hand ? input->known[moment] : never;
}

/* What is found keeps the order that the person's instants set. */
static void keep_order(const shot_phase_input *input, shot_phases *out) {
    for (size_t k = 0; input->by_hand && k < IN_ORDER; k++) {
        const double time = input->known[in_order[k]].at;
        for (size_t i = 0; i < IN_ORDER && !isnan(time); i++) {
            shot_instant *one = shot_phases_moment(out, in_order[i]);
            if (isnan(input->known[in_order[i]].at))
                *one = i < k ? shot_instant_not_after(*one, time)
                             : shot_instant_not_before(*one, time);
        }
    }
}

/* Each instant is looked for by itself, and in an odd log one may be found before another that it
 * follows.  Nobody knows then which is wrong; but no phase ends before it starts. */
static void keep_sequence(const shot_phase_input *input, shot_phases *out) {
    double latest = -INFINITY;
    for (size_t i = 0; i < IN_ORDER; i++) {
        shot_instant *one = shot_phases_moment(out, in_order[i]);
        if (isnan(shot_phase_known(input, in_order[i]).at))
            *one = shot_instant_not_before(*one, latest);
        latest = fmax(latest, one->at);
    }
}

static shot_status find_water(const shot_course *course, shot_phases *out) {
    const shot_instant marked = shot_phase_known(course->input, SHOT_WATER_IN);
    SHOT_TRY(shot_find_water(course, out));
    if (isnan(marked.at))
        return SHOT_OK;
    out->water_in = marked;
    out->from_pressure = false;
    out->late = out->late && marked.at <= out->start;
    return SHOT_OK;
}

/* ---- the shot ---- */

/* What happened where the log has no rows, may have happened at any time in there; and before a row
 * that is a mean, in the time of it. */
static void look_between_rows(const shot_phase_input *input, shot_phases *out) {
    for (size_t i = 0; i < IN_ORDER; i++) {
        shot_instant *one = shot_phases_moment(out, in_order[i]);
        if (isnan(shot_phase_known(input, in_order[i]).at))
            *one = shot_over_holes(input, shot_over_row_means(input, *one));
    }
}

static double start_of(const shot_phase_input *input) {
    double start = input->pressure.n > 0 ? input->pressure.t[0] : NAN;
    return input->flow.n > 0 ? fmin(start, input->flow.t[0]) : start;
}

static shot_status find_in(shot_course *course, shot_phases *out) {
    out->restriction = course->restrictor.k;
    out->rest = course->rest;
    out->top = course->top - course->rest;
    out->start = start_of(course->input);
    out->no_water = !course->input->by_hand && shot_ran_no_water(course);
    if (out->no_water)
        return SHOT_OK;
    SHOT_TRY(find_water(course, out));
    SHOT_TRY(shot_find_main_rise(course, out));
    SHOT_TRY(shot_find_drip(course, out));
    shot_find_stream_end(course, out);
    SHOT_TRY(shot_find_end(course, out));
    shot_look_behind_filter(course, out);
    SHOT_TRY(shot_find_water_end(course, out));
    look_between_rows(course->input, out);
    keep_order(course->input, out);
    keep_sequence(course->input, out);
    return SHOT_OK;
}

shot_status shot_phases_find(const shot_phase_input *input, shot_phases *out) {
    shot_course course;
    shot_phase_input first;
    *out = (shot_phases){.water_in = never,
                         .fill_end = never,
                         .rise = never,
                         .full = never,
                         .pump_off = never,
                         .released = never,
                         .first_drip = never,
                         .drips = NAN,
                         .flushed = never,
                         .flushed_until = never,
                         .runs_again = never,
                         .stood = never,
                         .stood_until = never,
                         .water_end = never,
                         .stream_end = never};
    shot_status status = shot_course_new(input, &course);
    double apart = status == SHOT_OK ? between_shots(&course) : NAN;
    if (!isnan(apart)) {
        shot_course_free(&course);
        first = until(input, apart);
        out->more_shots = true;
        status = shot_course_new(&first, &course);
    }
    if (status == SHOT_OK)
        status = find_in(&course, out);
    shot_course_free(&course);
    return status;
}
