/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The runs of the pump before the brew: told while samples arrive.
 *
 * With a flow meter the pump runs from when a fifth of the highest flow so far is shown, and has
 * stopped when a tenth is, or less than noise lets tell, for 0.2 s and two rows on end; but a puck
 * that keeps its pressure meanwhile is held by a line or by a pump that gives next to nothing
 * (Darcy 1856: it drains when the pump stands).  Without one, it runs from when the pressure is
 * half a bar above the lowest since the last run, and has stopped when half of the peak is lost;
 * that began at the last sample over nine tenths of the peak.  A run at 5.5 bar or more for over 5
 * s while the basket takes less than it does while it fills is the main one, as is any of more than
 * 12 s after the fill (common practice, no source): what ends then is a brew. */
#ifndef SHOT_DETECT_LIVE_PUMP_H
#define SHOT_DETECT_LIVE_PUMP_H

#include "detect/live_water.h"

/* All zero at the beginning of a shot. */
typedef struct live_pump {
    double from, to;              /* of the last run, s */
    bool ran, runs;               /* there was one; it goes on */
    bool main;                    /* it was the main one: no other is looked for */
    double last_t;                /* s, of the last row with news */
    double last_over;             /* when flow, or pressure, last was that of a pump that runs */
    double low_since;             /* since when it is not: the first row after */
    double high_since;            /* since when the flow is that of a pump that runs */
    double before_high;           /* the row before */
    int low, high;                /* such rows on end */
    double top_flow;              /* ml/s */
    double last_p, last_q;        /* the last figures; NaN where the gauge has none yet */
    double at_peak, flow_at_peak; /* s, the last time near it; ml/s then */
    int fallen;                   /* rows on end at less than half of it */
    bool began, by_pressure;      /* the last run ended, or the first begins, by the pressure */
    double peak, trough;          /* bar above rest */
    double at_stop;               /* bar above rest, when the flow last was a pump's */
    double pressed;               /* s at brewing pressure in this run, */
    double taken;                 /* and s in which the basket was full */
} live_pump;

/* After each row; `in` tells the columns and their rests, `water` when water came in: NaN, and
 * nothing is looked for yet.  True if the pump has stopped now after a run that was not the main
 * one: from, to. */
bool live_pump_look(live_pump *pump, const shot_table *shot, const live_water *in, double water);

#endif
