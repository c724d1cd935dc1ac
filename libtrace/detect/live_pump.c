/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The runs of the pump before the brew: told while samples arrive. */
#include "detect/live_pump.h"

#include <math.h>

#include "detect/brewing.h"

static const double least_flow = 0.3; /* ml/s that are worth the name; common practice, no source */
static const double least_rise = 0.5; /* bar */
static const double stands = 0.1, starts = 0.2; /* of the highest flow */
static const double strong = 0.6;               /* of it: the basket fills */
static const double sure = 0.2;                 /* s, and */
enum { ROWS = 2 };
static const double drains = 0.8;   /* of the pressure: kept by a puck that is held */
static const double falls_to = 0.5; /* of the peak, where there is no flow meter */
static const double near_peak = 0.9, ran_on = 0.7; /* of the flow at the peak: water runs on */
static const double longest = 12;                  /* s of a pulse after the fill */

static double middle(double a, double b) {
    return (a + b) / 2;
}

static void start(live_pump *pump, double from, double t) {
    pump->runs = pump->ran = true;
    pump->from = from;
    pump->last_over = t;
    pump->low = pump->fallen = 0;
    pump->pressed = pump->taken = pump->peak = 0;
}

/* True if the run that ends was not the main one. */
static bool stop(live_pump *pump, double p) {
    pump->runs = false;
    pump->high = 0;
    pump->trough = isnan(p) ? 0 : p;
    pump->to = middle(pump->last_over, pump->low_since);
    pump->main = pump->pressed > shot_brewed || pump->taken > longest;
    return !pump->main;
}

/* How long the run has been like a brew. */
static void follow(live_pump *pump, double t, double p, double q) {
    const double step = fmin(t - pump->last_t, 1);
    if (!isnan(q) && q > strong * pump->top_flow && t < pump->from + shot_longest_fill)
        return;
    pump->taken += step;
    pump->pressed += p > shot_brewing ? step : 0;
}

/* ---- with a flow meter ---- */

static void starts_by_flow(live_pump *pump, double t, double q, double first) {
    if (q < fmax(starts * pump->top_flow, least_flow)) {
        pump->high = 0;
        pump->before_high = t;
        return;
    }
    if (pump->high++ == 0)
        pump->high_since = t;
    if (pump->high < ROWS)
        return;
    start(pump, pump->ran ? middle(pump->before_high, pump->high_since) : first, t);
}

/* A puck without pressure tells nothing, nor does a gauge that is not there. */
static bool is_held(const live_pump *pump, double p) {
    return pump->at_stop > least_rise && p > drains * pump->at_stop;
}

static bool stops_by_flow(live_pump *pump, double t, double p, double q) {
    if (q > fmax(stands * pump->top_flow, least_flow)) {
        pump->low = 0;
        pump->last_over = t;
        pump->at_stop = isnan(p) ? 0 : p;
        return false;
    }
    if (pump->low++ == 0)
        pump->low_since = t;
    return pump->low >= ROWS && t - pump->last_over >= sure && !is_held(pump, p);
}

/* ---- by the pressure alone ---- */

static void starts_by_pressure(live_pump *pump, double t, double p, double first) {
    if (p < pump->trough + least_rise) {
        pump->trough = fmin(pump->trough, p);
        pump->before_high = t;
        pump->high = 0;
        return;
    }
    if (++pump->high >= ROWS)
        start(pump, pump->ran ? pump->before_high : first, t);
}

static bool stops_by_pressure(live_pump *pump, double t, double p, double q) {
    pump->peak = fmax(pump->peak, p);
    if (p > near_peak * pump->peak) {
        pump->at_peak = t;
        pump->flow_at_peak = q;
    }
    const bool fell = pump->peak > 2 * least_rise && p < falls_to * pump->peak &&
                      !(q > ran_on * pump->flow_at_peak);
    pump->fallen = fell ? pump->fallen + 1 : 0;
    if (pump->fallen < ROWS)
        return false;
    pump->last_over = pump->low_since = pump->at_peak;
    return true;
}

static void look_for_start(live_pump *pump, double t, double p, double q, double water) {
    if (pump->by_pressure)
        starts_by_pressure(pump, t, p, water);
    else
        starts_by_flow(pump, t, q, water);
}

static bool look_for_stop(live_pump *pump, double t, double p, double q) {
    const bool by_pressure = stops_by_pressure(pump, t, p, q);
    if (!isnan(q) && stops_by_flow(pump, t, p, q)) {
        pump->by_pressure = false;
        return true;
    }
    pump->by_pressure = by_pressure || isnan(q);
    return by_pressure;
}

/* A row with news of the flow, or of the pressure where there is no flow meter. */
static bool take(live_pump *pump, double t, double p, double q, double water) {
    if (pump->runs)
        follow(pump, t, p, q);
    pump->last_t = t;
    pump->top_flow = fmax(pump->top_flow, fmin(q, pump->last_q)); /* one may be a spike */
    pump->last_q = q;
    if (pump->runs)
        return look_for_stop(pump, t, p, q);
    look_for_start(pump, t, p, q, water);
    return false;
}

bool live_pump_look(live_pump *pump, const shot_table *shot, const live_water *in, double water) {
    const size_t row = shot->rows.rows - 1;
    double *const *column = shot->rows.column;
    const double p = in->pressure >= 0 ? column[in->pressure][row] : NAN;
    const double q = in->flow >= 0 ? column[in->flow][row] : NAN;
    if (!pump->began) {
        pump->last_p = NAN;
        pump->by_pressure = in->flow < 0;
    }
    pump->began = true;
    pump->last_p = isnan(p) ? pump->last_p : p - live_onset_rest(&in->by_pressure);
    if (pump->main || isnan(water) || isnan(in->flow >= 0 ? q : p))
        return false;
    return take(pump, column[0][row], pump->last_p, q - live_onset_rest(&in->by_flow), water) &&
           stop(pump, pump->last_p);
}
