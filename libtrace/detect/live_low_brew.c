/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A brew at a pressure at which others pre-wet: told while samples arrive, by the cup. */
#include "detect/live_low_brew.h"

#include <math.h>

#include "detect/brewing.h"

static const double least_flow = 0.3; /* ml/s that are worth the name; common practice, no source */
static const double wetting = 3;      /* g: who pre-wets until drops fall stops by then; the same */

static double figure(const shot_table *shot, ptrdiff_t column) {
    return column >= 0 ? shot->rows.column[column][shot->rows.rows - 1] : NAN;
}

/* Where the puck loses the level, or water stops, what is kept begins anew. */
static void follow_level(live_low_brew *low, double now, double p, double q) {
    if (p < shot_main_share * low->plateau.level || q < least_flow)
        low->since = now;
    low->since = fmax(low->since, low->plateau.at);
}

static void follow_cup(live_low_brew *low, double weight, bool drips) {
    if (isnan(weight))
        return;
    if (!low->drips || !drips)
        low->cup = weight;
    low->drips = drips;
}

bool live_low_brew_look(live_low_brew *low, const shot_table *shot, const live_water *in,
                        bool drips) {
    const double now = figure(shot, 0), p = figure(shot, in->pressure);
    const double rest = live_onset_rest(&in->by_pressure);
    const double weight = figure(shot, shot_head_channel(&shot->head, "weight"));
    const double *flow = in->flow >= 0 ? shot->rows.column[in->flow] : NULL;
    live_plateau_look(&low->plateau, shot->rows.column[0], shot->rows.column[in->pressure], flow,
                      shot->rows.rows, rest);
    follow_level(low, now, p - rest, figure(shot, in->flow));
    follow_cup(low, weight, drips);
    return low->drips && low->plateau.level > shot_least_brew && weight > low->cup + wetting &&
           now > low->since + shot_level_seconds;
}

bool live_low_brew_holds(const live_low_brew *low, double now) {
    return low->plateau.level > 0 && low->plateau.level < shot_brewing && now > low->since + 1;
}
