/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs of the pump before a shot that met no coffee. */
#include "detect/flush.h"

#include <math.h>

#include "detect/pump_dips.h"
#include "puck/open_group.h"

static const double apart = 5; /* s without water between two shots; common practice, no source */

/* Follows a run of the pump until something holds the water up.  `group` is what the runs before it
 * have shown, and gets what this one does.  *water, ml, gets what ran by then; false if nothing
 * does until `to`. */
static bool is_held_up(const shot_course *course, double from, double to, open_group *group,
                       double *water) {
    const shot_channel_view *flow = &course->flow_level;
    double most = 0, since = NAN, before = 0;
    *water = 0;
    for (size_t i = shot_view_first(flow, from); i < flow->n && flow->t[i] <= to; i++) {
        const double t = flow->t[i], q = fmax(0, flow->y[i] - course->flow_rest);
        const double p = shot_view_at(&course->level, t) - course->rest;
        *water += q * (t - (i > 0 ? fmax(from, flow->t[i - 1]) : t));
        most = fmax(most, q);
        open_group_take(group, t, p, q);
        const bool holds = puck_resists(p, q, most, group);
        if (holds && isnan(since))
            before = *water;
        since = !holds ? NAN : isnan(since) ? t : since;
        if (t - since >= puck_holds) {
            *water = before;
            return true;
        }
    }
    return false;
}

static bool stands_long(const pump_gap *gap) {
    return gap->on.at - gap->off.at >= apart;
}

/* Is a headspace empty when the pump comes on?  What the run itself shows of the group is left out
 * of what is known of it. */
static bool fills_anew(const shot_course *course, double from, open_group group) {
    double ran;
    return is_held_up(course, from, INFINITY, &group, &ran) && ran >= headspace_takes;
}

size_t shot_flushes(const shot_course *course, double water, const pump_gap *gaps, size_t count) {
    size_t flushes = 0;
    double from = water, ran;
    open_group group = open_group_unseen;
    if (course->flow_level.n == 0)
        return 0;
    for (size_t i = 0; i < count && !is_held_up(course, from, gaps[i].off.at, &group, &ran); i++) {
        from = gaps[i].on.at;
        if (stands_long(&gaps[i]) && fills_anew(course, from, group))
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
