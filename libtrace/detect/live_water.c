/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Water comes into the basket: told while samples arrive. */
#include "detect/live_water.h"

#include <math.h>

/* What loggers' noise is until they show theirs, and what is worth the name of flow or pressure;
 * common practice, no source. */
static const double usual_flow_sd = 0.1, least_flow = 0.3;          /* ml/s */
static const double usual_pressure_sd = 0.05, least_pressure = 0.3; /* bar */

/* s between rows: of the half second in which water is to be told a second row takes a third. */
static const double patience = 0.5 / 3;

void live_water_begin(live_water *water, const shot_head *head) {
    *water = (live_water){.pressure = shot_head_channel(head, "pressure"),
                          .flow = shot_head_channel(head, "flow"),
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

/* What a row says to one of the channels. */
typedef struct row_news {
    bool fresh, told;
} row_news;

static row_news push(live_onset *onset, ptrdiff_t column, const shot_table *shot) {
    if (column < 0)
        return (row_news){false, false};
    const size_t row = shot->rows.rows - 1;
    const double before = onset->taken_t, y = shot->rows.column[column][row];
    const bool told = live_onset_push(onset, shot->rows.column[0][row], y);
    return (row_news){onset->taken_t > before, told};
}

/* Water flows: where there is a meter, a gauge does not tell by itself in one row. */
static live_onset *teller(live_water *water) {
    return water->flow >= 0 ? &water->by_flow : &water->by_pressure;
}

/* Would a second row come too late? */
static bool cannot_wait(const live_water *water, const live_onset *by) {
    return !water->spiky && by->alone && by->apart > patience;
}

static live_water_news tell(live_water *water, bool by_flow) {
    water->by_flow_too = by_flow;
    water->at = by_flow ? water->by_flow.from : water->by_pressure.from;
    return LIVE_WATER_TOLD;
}

/* Was the row that told of it a spike? */
static live_water_news look_again(live_water *water, bool fresh) {
    if (!fresh)
        return LIVE_WATER_NOTHING;
    water->early = false;
    if (teller(water)->rising)
        return LIVE_WATER_NOTHING;
    water->spiky = true;
    water->at = NAN;
    return LIVE_WATER_NONE;
}

live_water_news live_water_look(live_water *water, const shot_table *shot) {
    const row_news flow = push(&water->by_flow, water->flow, shot);
    const row_news pressure = push(&water->by_pressure, water->pressure, shot);
    const bool fresh = water->flow >= 0 ? flow.fresh : pressure.fresh;
    if (!isnan(water->at))
        return water->early ? look_again(water, fresh) : LIVE_WATER_NOTHING;
    if (flow.told || pressure.told || both_rise(water))
        return tell(water, flow.told || !pressure.told);
    if (!fresh || !cannot_wait(water, teller(water)))
        return LIVE_WATER_NOTHING;
    water->early = true;
    return tell(water, water->flow >= 0);
}
