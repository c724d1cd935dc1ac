/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The true phases of a brew. */
#include "puck/phases.h"

#include <math.h>

static const double MAIN_SHARE = 0.6;    /* of the main run's maximum: what counts as a level */
static const double LEVEL_SECONDS = 3;   /* for which a level is not exceeded ... */
static const double LEVEL_EXCESS = 1.03; /* ... by more than this */
static const double REACHED = 0.95;      /* of the level */
static const double NOTHING = 0.5;       /* bar: no pressure worth the name */
static const double STILL = 0.02;        /* bar above the lowest: not yet rising */

static size_t index_at(const shot_brew *brew, double seconds) {
    const size_t i = (size_t)(seconds / SHOT_BREW_STEP + 0.5);
    return i < brew->count ? i : brew->count - 1;
}

static double time_of(size_t index) {
    return (double)index * SHOT_BREW_STEP;
}

/* First instant in [from, to] at which the puck has `pressure` or more; NaN if none. */
static double first_at_least(const shot_brew *brew, double pressure, double from, double to) {
    for (size_t i = index_at(brew, from); i <= index_at(brew, to); i++)
        if (brew->moments[i].puck >= pressure)
            return time_of(i);
    return NAN;
}

static double highest(const shot_brew *brew, size_t from, size_t to) {
    double most = 0;
    for (size_t i = from; i <= to && i < brew->count; i++)
        most = fmax(most, brew->moments[i].puck);
    return most;
}

double phases_lowest(const shot_brew *brew, double from, double to) {
    double least = INFINITY;
    for (size_t i = index_at(brew, from); i <= index_at(brew, to); i++)
        least = fmin(least, brew->moments[i].puck);
    return least;
}

/* Not exceeded by more than 3 % during the next 3 s. */
static bool is_level(const shot_brew *brew, size_t i) {
    const size_t end = i + (size_t)(LEVEL_SECONDS / SHOT_BREW_STEP + 0.5);
    for (size_t k = i + 1; k <= end && k < brew->count; k++)
        if (brew->moments[k].puck > LEVEL_EXCESS * brew->moments[i].puck)
            return false;
    return true;
}

/* The first main plateau or peak: its pressure; NaN if the main run has none. */
static double main_level(const shot_brew *brew) {
    const size_t from = index_at(brew, brew->main_rise), to = index_at(brew, brew->pump_off);
    const double least = MAIN_SHARE * highest(brew, from, to);
    for (size_t i = from; i <= to; i++)
        if (brew->moments[i].puck >= least && brew->moments[i].puck > NOTHING && is_level(brew, i))
            return brew->moments[i].puck;
    return NAN;
}

/* Water first shut off; or half of a held pressure reached; or 0.5 bar where nothing is held. */
static double end_of_fill(const shot_brew *brew, bool direct) {
    if (brew->runs[0].to < brew->main_rise - SHOT_BREW_STEP / 2)
        return brew->runs[0].to;
    const double held = brew->moments[index_at(brew, brew->main_rise)].puck;
    const double goal = direct || held < NOTHING ? NOTHING : held / 2;
    return first_at_least(brew, goal, brew->water_in, brew->pump_off);
}

/* The last instant before the end of preinfusion at which the puck is as good as at its lowest. */
static double start_of_rise(const shot_brew *brew, double brewing) {
    const double least = phases_lowest(brew, brew->main_rise, brewing);
    size_t i = index_at(brew, brewing);
    while (i > index_at(brew, brew->main_rise) && brew->moments[i].puck > least + STILL)
        i--;
    return time_of(i);
}

static double end_of_release(const shot_brew *brew) {
    for (size_t i = index_at(brew, brew->pump_off); i < brew->count; i++)
        if (brew->moments[i].puck < NOTHING)
            return time_of(i);
    return NAN;
}

struct phases phases_find(const shot_brew *brew) {
    struct phases phases = {NAN, NAN, NAN, NAN, NAN, false};
    if (isnan(brew->water_in) || isnan(brew->main_rise) || brew->run_count == 0)
        return phases;
    phases.direct = brew->main_rise - brew->water_in < SHOT_BREW_STEP / 2;
    phases.off = brew->pump_off;
    phases.rest = end_of_release(brew);
    phases.filled = end_of_fill(brew, phases.direct);
    const double level = main_level(brew);
    if (isnan(level))
        return phases;
    phases.brewing = first_at_least(brew, REACHED * level, brew->main_rise, brew->pump_off);
    phases.rise = phases.direct ? phases.filled : start_of_rise(brew, phases.brewing);
    if (phases.filled > phases.rise) /* the pre-wetting never filled the headspace */
        phases.filled = phases.rise;
    return phases;
}
