/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs of the pump before a shot that met no coffee.  What tells is what shot-split goes by too. */
#include "detect/flush.h"

#include <math.h>

#include "detect/pump_dips.h"

/* All of it common practice, no source.  An open group stands under the pressure, or has so much
 * resistance; what holds water up does so for longer than a valve takes to close, at less than the
 * greatest flow of the run; an empty headspace with a dry bed takes at least so much water. */
static const double apart = 5;                               /* s */
static const double least_pressure = 0.8, puck_pressure = 2; /* bar */
static const double puck_resistance = 1.6, throttled = 0.75; /* bar.s/ml, of the flow */
static const double held_up = 0.8 /* s */, own_fill = 12 /* ml */;

/* Follows a run of the pump until something holds the water up.  *water, ml, gets what ran by then;
 * false if nothing does until `to`. */
static bool is_held_up(const shot_course *course, double from, double to, double *water) {
    const shot_channel_view *flow = &course->flow_level;
    double most = 0, since = NAN, before = 0;
    *water = 0;
    for (size_t i = shot_view_first(flow, from); i < flow->n && flow->t[i] <= to; i++) {
        const double t = flow->t[i], q = fmax(0, flow->y[i] - course->flow_rest);
        const double p = shot_view_at(&course->level, t) - course->rest;
        *water += q * (t - (i > 0 ? fmax(from, flow->t[i - 1]) : t));
        most = fmax(most, q);
        const bool holds =
            p >= least_pressure && (q < throttled * most || p >= puck_resistance * q);
        if (holds && isnan(since))
            before = *water;
        since = !holds ? NAN : isnan(since) ? t : since;
        if (t - since >= held_up) {
            *water = before;
            return true;
        }
    }
    return false;
}

static bool stands_long(const pump_gap *gap) {
    return gap->on.at - gap->off.at >= apart;
}

size_t shot_flushes(const shot_course *course, double water, const pump_gap *gaps, size_t count) {
    size_t flushes = 0;
    double from = water, ran;
    if (course->flow_level.n == 0)
        return 0;
    for (size_t i = 0; i < count && !is_held_up(course, from, gaps[i].off.at, &ran); i++) {
        from = gaps[i].on.at;
        if (stands_long(&gaps[i]) && is_held_up(course, from, INFINITY, &ran) && ran >= own_fill)
            flushes = i + 1;
    }
    return flushes;
}

bool shot_maybe_flush(const shot_course *course, double water, const pump_gap *gap) {
    const bool meter = course->flow_level.n > 0;
    const double limit = meter ? shot_no_pressure : puck_pressure;
    return stands_long(gap) &&
           pump_highest(&course->level, water, gap->off.at) < course->rest + limit;
}
