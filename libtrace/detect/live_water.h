/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Water comes into the basket: told while samples arrive, by flow, pressure or both. */
#ifndef SHOT_DETECT_LIVE_WATER_H
#define SHOT_DETECT_LIVE_WATER_H

#include <shottrace/trace/table.h>

#include "detect/live_onset.h"

typedef struct live_water {
    ptrdiff_t pressure, flow; /* columns; -1: none */
    live_onset by_flow, by_pressure;
    double at;        /* s; NaN: not yet */
    bool by_flow_too; /* the flow told of it, by itself or with the pressure */
} live_water;

void live_water_begin(live_water *water, const shot_head *head);

/* After each row.  True once, on the row that tells. */
bool live_water_look(live_water *water, const shot_table *shot);

#endif
