/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Water comes into the basket: told while samples arrive. */
#include "detect/live_water.h"

#include <math.h>

/* What loggers' noise is until they show theirs, and what is worth the name of flow or pressure;
 * common practice, no source. */
static const double usual_flow_sd = 0.1, least_flow = 0.3;          /* ml/s */
static const double usual_pressure_sd = 0.05, least_pressure = 0.3; /* bar */

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

bool live_water_look(live_water *water, const shot_table *shot) {
    double *const *column = shot->rows.column;
    const size_t row = shot->rows.rows - 1;
    const double t = column[0][row];
    const bool flow =
        water->flow >= 0 && live_onset_push(&water->by_flow, t, column[water->flow][row]);
    const bool pressure = water->pressure >= 0 &&
                          live_onset_push(&water->by_pressure, t, column[water->pressure][row]);
    const bool both = isnan(water->at) && both_rise(water);
    if (!isnan(water->at) || !(flow || pressure || both))
        return false;
    water->by_flow_too = flow || both;
    water->at = water->by_flow_too ? water->by_flow.from : water->by_pressure.from;
    return true;
}
