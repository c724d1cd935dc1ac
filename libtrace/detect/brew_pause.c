/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The pump stands for a while in the brew. */
#include "detect/brew_pause.h"

#include <math.h>

/* Does the pump stand in this gap of the brew?  No water runs, and the puck loses half of its
 * pressure; without a flow meter nearly all of it, since it may be eased off on purpose. */
static bool is_pause(const shot_course *course, const pump_gap *gap) {
    static const double shortest = 1, half = 0.5, nearly_all = 0.8; /* common practice, no source */
    const double off = gap->off.at, on = gap->on.at, edge = (on - off) / 4;
    const shot_channel_view *water = &course->flow_level;
    const double flow = shot_view_mean(water, off + edge, on - edge) - course->flow_rest;
    const double ran = shot_view_mean(water, off - 2 * shortest, off) - course->flow_rest;
    const double before = shot_view_at(&course->level, off - 0.3) - course->rest;
    const double after = shot_view_at(&course->level, on) - course->rest;
    return on - off >= shortest && !(flow > ran / 4) &&
           before - after > (isnan(flow) ? nearly_all : half) * before;
}

void shot_find_pause(const shot_course *course, const pump_gap *gaps, size_t count,
                     shot_phases *out) {
    for (size_t i = 0; i < count && isnan(out->stood.at); i++)
        if (gaps[i].off.at > out->full.at && is_pause(course, &gaps[i])) {
            out->stood = gaps[i].off;
            out->stood_until = gaps[i].on;
        }
}
