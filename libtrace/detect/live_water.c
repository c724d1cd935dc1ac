/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Water comes into the basket: told while samples arrive. */
#include "detect/live_water.h"

#include <math.h>

#include "puck/water_counter.h"

/* What loggers' noise is until they show theirs, and what is worth the name of flow or pressure;
 * common practice, no source. */
static const double usual_flow_sd = 0.1, least_flow = 0.3;          /* ml/s */
static const double usual_pressure_sd = 0.05, least_pressure = 0.3; /* bar */
static const double usual_count_sd = 0.05, least_count = 0.3;       /* ml */

/* s between rows: of the half second in which water is to be told a second row takes a third. */
static const double patience = 0.5 / 3;

void live_water_begin(live_water *water, const shot_head *head) {
    *water =
        (live_water){.pressure = shot_head_channel(head, "pressure"),
                     .flow = shot_head_channel(head, "flow"),
                     .count = shot_water_is_counted(head) ? shot_head_channel(head, "water") : -1,
                     .counted_from = NAN,
                     .by_flow = {.usual_sd = usual_flow_sd, .least = least_flow},
                     .by_pressure = {.usual_sd = usual_pressure_sd, .least = least_pressure},
                     .at = NAN};
}

/* Each of two channels whose noise has nothing in common may come half of the way to its threshold
 * by chance about as often as one comes all of it: the rate of a sum falls off as exp(-2 reference
 * threshold) (Siegmund 1985, 'Sequential Analysis', section II.6).  So both together tell of water
 * that they bear in one row, where a spike in one does not. */
static const double half_way = 0.5;

static bool both_rise(const live_water *water) {
    return water->flow >= 0 && water->pressure >= 0 &&
           live_onset_share(&water->by_flow) >= half_way &&
           live_onset_share(&water->by_pressure) >= half_way;
}

/* A count stands where the last shot left it, until it is set back or goes on. */
static void push_count(live_water *water, double t, double count) {
    if (isnan(water->counted_from) || count < water->counted_from) {
        water->counted_from = count;
        water->by_count = (live_onset){.usual_sd = usual_count_sd, .least = least_count};
    }
    live_onset_push(&water->by_count, t, count - water->counted_from);
}

/* Water flows: where there is a meter, a gauge does not tell by itself in one row. */
static const live_onset *teller(const live_water *water) {
    return water->flow >= 0    ? &water->by_flow
           : water->count >= 0 ? &water->by_count
                               : &water->by_pressure;
}

/* Would a second row come too late? */
static bool cannot_wait(const live_water *water, const live_onset *by) {
    return !water->spiky && by->alone && by->apart > patience;
}

static live_water_news tell(live_water *water, const live_onset *by) {
    water->by_flow_too = by != &water->by_pressure;
    water->at = by->from;
    return LIVE_WATER_TOLD;
}

/* Was the row that told of it a spike? */
static live_water_news look_again(live_water *water, const live_onset *by, bool fresh) {
    if (!fresh)
        return LIVE_WATER_NOTHING;
    water->early = false;
    if (by->rising)
        return LIVE_WATER_NOTHING;
    water->spiky = true;
    water->at = NAN;
    return LIVE_WATER_NONE;
}

static double figure(const shot_table *shot, ptrdiff_t column) {
    return column >= 0 ? shot->rows.column[column][shot->rows.rows - 1] : NAN;
}

live_water_news live_water_look(live_water *water, const shot_table *shot) {
    const double t = figure(shot, 0);
    const live_onset *const by = teller(water);
    const double before = by->taken_t;
    live_onset_push(&water->by_flow, t, figure(shot, water->flow));
    live_onset_push(&water->by_pressure, t, figure(shot, water->pressure));
    push_count(water, t, figure(shot, water->count));
    const bool fresh = by->taken_t > before;
    if (!isnan(water->at))
        return water->early ? look_again(water, by, fresh) : LIVE_WATER_NOTHING;
    if (by->told || both_rise(water))
        return tell(water, by);
    if (water->by_pressure.told)
        return tell(water, &water->by_pressure);
    if (!fresh || !cannot_wait(water, by))
        return LIVE_WATER_NOTHING;
    water->early = true;
    return tell(water, by);
}
