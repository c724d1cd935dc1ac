/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Water comes into the basket: told while samples arrive, by flow, pressure or both, or by a
 * running count of it (puck/water_counter.h), which no longer stands at what it first showed.
 *
 * One row may be a spike, so that two must bear it out.  Where rows come so slowly that the second
 * one takes too long, the first is told of, and taken back if the second is at rest; a channel that
 * has been taken back once is known to spike, and waits for two from then on. */
#ifndef SHOT_DETECT_LIVE_WATER_H
#define SHOT_DETECT_LIVE_WATER_H

#include <shottrace/trace/table.h>

#include "detect/live_onset.h"

typedef struct live_water {
    ptrdiff_t pressure, flow, count; /* columns; -1: none */
    live_onset by_flow, by_pressure, by_count;
    double counted_from; /* ml; NaN: no figure yet */
    double at;           /* s; NaN: not yet */
    bool by_flow_too;    /* the flow or the count told of it, by itself or with the pressure */
    bool early, spiky;   /* one row told of it so far; one that did was a spike */
} live_water;

typedef enum live_water_news {
    LIVE_WATER_NOTHING,
    LIVE_WATER_TOLD, /* since `at` */
    LIVE_WATER_NONE  /* what was told was a spike */
} live_water_news;

void live_water_begin(live_water *water, const shot_head *head);

/* After each row. */
live_water_news live_water_look(live_water *water, const shot_table *shot);

#endif
