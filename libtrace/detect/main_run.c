/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which run of the pump is the main one. */
#include "detect/main_run.h"

#include <math.h>

#include "detect/brewing.h"
#include "detect/cup.h"

/* The longest time in from..to for which the puck has what may be a main plateau. */
static double time_up(const shot_course *course, double from, double to) {
    const shot_channel_view *level = &course->level;
    const double high = course->rest + shot_main_share * (course->top - course->rest);
    double since = NAN, most = 0;
    for (size_t i = shot_view_first(level, from); i < level->n && level->t[i] <= to; i++) {
        since = level->y[i] < high ? NAN : isnan(since) ? level->t[i] : since;
        most = fmax(most, level->t[i] - since); /* of a number and NaN the number */
    }
    return most;
}

double shot_beverage(const shot_course *course, double from, double to) {
    const shot_channel_view *weight = &course->weight;
    if (weight->n < 5 || weight->t[0] > from || weight->t[weight->n - 1] < to)
        return NAN;
    const shot_channel_view stands = shot_cup_longest(weight, from, to);
    const double half = fmax(0.5, 2 * weight->noise.spacing);
    const double start = stands.n > 0 ? fmax(from, stands.t[0]) : from;
    return shot_view_mean(&stands, to - half, to) - shot_view_mean(&stands, start, start + half);
}

/* Was that run of the pump a brew?  The puck had a brewing pressure and gave beverage, or, where no
 * scale tells, had it for longer than a pre-wetting at such a pressure lasts.  What the pump does
 * after it is a pause, or a lever that is pulled again. */
static bool is_brew(const shot_course *course, double from, double to) {
    const double mass = shot_beverage(course, from, to), up = time_up(course, from, to);
    return isnan(mass) ? up >= shot_brewed : up >= shot_level_seconds && mass > shot_least_beverage;
}

/* When a run of the pump, counted from 0, starts and ends. */
static double starts(const pump_gap *gaps, size_t run, double water) {
    return run > 0 ? gaps[run - 1].on.at : water;
}

static double ends(const pump_gap *gaps, size_t count, size_t run, double end) {
    return run < count ? gaps[run].off.at : end;
}

static void take_top(shot_course *course, double from, double to) {
    const shot_channel_view *level = &course->level;
    double top = -INFINITY;
    for (size_t i = shot_view_first(level, from); i < level->n && level->t[i] <= to; i++)
        top = fmax(top, level->y[i]);
    if (isfinite(top))
        course->top = top;
}

/* The run that lasts longest. */
static size_t longest_run(double water, const pump_gap *gaps, size_t count, double end) {
    double longest = -INFINITY;
    size_t run = 0;
    for (size_t i = 0; i <= count; i++) {
        const double time = ends(gaps, count, i, end) - starts(gaps, i, water);
        if (time > longest) {
            longest = time;
            run = i;
        }
    }
    return run;
}

static double lowest_level(const shot_course *course, double from, double to) {
    const shot_channel_view *level = &course->level;
    double least = INFINITY;
    for (size_t i = shot_view_first(level, from); i < level->n && level->t[i] <= to; i++)
        least = fmin(least, level->y[i]);
    return least;
}

/* Does the log end in a run of the pump of which nobody knows how long it lasts?  The puck had let
 * go of its pressure, which then lasted no longer than a pre-wetting's, and stands under as much
 * again. The course's highest level is that of the longest run so far. */
static bool ends_in_last_run(const shot_course *course, const pump_gap *gaps, size_t count,
                             double end) {
    const shot_channel_view *level = &course->level;
    const double log_ends = level->t[level->n - 1], spacing = level->noise.spacing;
    if (count == 0 || log_ends - end > 1.5 * spacing)
        return false;
    const pump_gap *last = &gaps[count - 1];
    return lowest_level(course, last->off.at, last->on.at) < course->rest + shot_no_pressure &&
           time_up(course, last->on.at, log_ends) > spacing;
}

/* Was the pump but eased off in that gap?  The puck had had a brewing pressure for as long as makes
 * a plateau, and kept one. */
static bool is_eased(const shot_course *course, double from, const pump_gap *gap) {
    const double high = course->rest + shot_main_share * (course->top - course->rest);
    return time_up(course, from, gap->off.at) >= shot_level_seconds &&
           lowest_level(course, gap->off.at, gap->on.at) >= high;
}

size_t shot_gaps_before_main_run(shot_course *course, double water, const pump_gap *gaps,
                                 size_t count) {
    const double end = shot_course_last_pressed(course);
    size_t longest = longest_run(water, gaps, count, end), run = 0;
    take_top(course, starts(gaps, longest, water), ends(gaps, count, longest, end));
    if (longest < count && ends_in_last_run(course, gaps, count, end) &&
        !is_brew(course, starts(gaps, longest, water), ends(gaps, count, longest, end))) {
        longest = count;
        take_top(course, starts(gaps, count, water), end);
    }
    while (run < longest && !is_eased(course, starts(gaps, run, water), &gaps[run]) &&
           !is_brew(course, starts(gaps, run, water), gaps[run].off.at))
        run++;
    if (run < longest)
        take_top(course, starts(gaps, run, water), ends(gaps, count, run, end));
    return run;
}
