/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of the search for gaps of the pump share. */
#ifndef SHOT_DETECT_PUMP_GAP_SEARCH_H
#define SHOT_DETECT_PUMP_GAP_SEARCH_H

#include "detect/pump_dips.h"
#include "detect/pump_gaps.h"

/* s by which a flow meter may show a start or a stop late; common practice, no source. */
static const double pump_longest_lag = 0.5;

typedef struct pump_gap_search {
    const shot_phase_input *input; /* its pressure is over the rest of the gauge */
    shot_channel_view level;       /* means of the pressure without strokes */
    shot_channel_view flow_level;  /* ... and of the flow; n = 0 without one */
    double flow_rest;              /* what the flow meter shows without water, ml/s */
    double restriction;            /* K of the restrictor, bar.s2/ml2; 0: none */
    double from, to;               /* s */
} pump_gap_search;

typedef struct pump_gap_list {
    pump_gap *items;
    size_t count;
} pump_gap_list;

/* SHOT_ERR_MEMORY. */
shot_status pump_gap_list_add(pump_gap_list *list, pump_gap gap);

/* A gap by one channel; the edges as its samples tell them. */
pump_gap pump_gap_between(const shot_channel_view *view, shot_instant off, shot_instant on,
                          double lost, bool faint);

/* Is there a flow meter to tell? */
static inline bool pump_gap_has_flow(const pump_gap_search *search) {
    return search->flow_level.n > 0;
}

/* The gaps that the flow tells, and those that the pressure does, added to a list in order.
 * SHOT_ERR_MEMORY. */
shot_status pump_gaps_by_flow(const pump_gap_search *search, pump_gap_list *out);
shot_status pump_gaps_by_pressure(const pump_gap_search *search, pump_gap_list *out);

/* What the flow meter shows without water, where the log tells: before the water, which came at
 * `from`, else after the last of it. */
double pump_flow_at_rest(const shot_channel_view *flow, double from);

/* Does the pressure alone show the gap for good? */
bool pump_gap_holds_alone(const pump_gap_search *search, const pump_gap *gap);

#endif
