/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Is a logged flow that of the water, or that of the beverage? */
#include "puck/beverage_flow.h"

#include <math.h>
#include <string.h>

#include "puck/water_counter.h"

/* All of these are common practice, no source. */
static const double moment = 0.5; /* s of a mean by which a flow shows */
static const double shows = 0.1;  /* of the highest flow; less is rest, or a trickle */
static const double pressed = 1;  /* bar above the start of the log: no zero is as far off */
static const double seconds = 2;  /* s; no meter counts for so long */
static const double some_pressure =
    0.5;                              /* bar, where the scale bears the flow out: as boilers have */
static const double some_seconds = 1; /* s, ... */
static const double some_water = 0.3; /* ml/s; a fill takes ten times as much */
static const double brewing = 2;      /* bar, more than steam or a zero that is off shows */
static const double some = 5;         /* ml, less than a basket takes and a puck soaks up */
static const double scale_slower = 1; /* s by which a scale may show later than the flow */
static const double inrush_time = 2;  /* s in which a basket fills that a valve opens to */
static const double inrush_factor = 2; /* ... at so many times the flow of the puck */

typedef struct logged {
    const double *t, *pressure, *flow, *weight;
    size_t n;
} logged;

/* The mean of what is not missing in from..to; NaN without any. */
static double mean_in(const logged *log, const double *y, double from, double to) {
    double sum = 0, count = 0;
    for (size_t i = 0; i < log->n && log->t[i] <= to; i++)
        if (log->t[i] >= from && !isnan(y[i]))
            sum += y[i], count++;
    return count > 0 ? sum / count : NAN;
}

/* The mean of the flow in the moment before a row, row by row. */
typedef struct recent {
    const logged *log;
    size_t first;
    double sum, count;
} recent;

static double recent_mean(recent *r, size_t i) {
    const logged *log = r->log;
    r->sum += log->flow[i], r->count++;
    for (; log->t[r->first] < log->t[i] - moment; r->first++)
        if (!isnan(log->flow[r->first]))
            r->sum -= log->flow[r->first], r->count--;
    return r->sum / r->count;
}

static double highest_flow(const logged *log, double from, double to) {
    recent mean = {.log = log};
    double most = 0;
    for (size_t i = 0; i < log->n && log->t[i] <= to; i++) {
        const double flow = isnan(log->flow[i]) ? 0 : recent_mean(&mean, i);
        most = log->t[i] >= from ? fmax(most, flow) : most;
    }
    return most;
}

static double first_over(const logged *log, double limit) {
    recent mean = {.log = log};
    for (size_t i = 0; i < log->n; i++) {
        const bool whole = log->t[i] - log->t[0] >= moment; /* before, a lone figure is no mean */
        if (!isnan(log->flow[i]) && recent_mean(&mean, i) > limit && whole)
            return log->t[i];
    }
    return NAN;
}

/* For how long until `until` the pressure was more than `by` over the start of the log. */
static double pressed_for(const logged *log, double until, double by) {
    const double start = mean_in(log, log->pressure, log->t[0], log->t[0] + moment);
    double time = 0, last = NAN;
    for (size_t i = 0; i < log->n && log->t[i] <= until; i++) {
        if (isnan(log->pressure[i]))
            continue;
        if (log->pressure[i] > start + by && !isnan(last))
            time += log->t[i] - last;
        last = log->t[i];
    }
    return time;
}

/* When so much has flowed since `from`, by the trapezium rule; NaN if it never has. */
static double time_of(const logged *log, double from, double volume, double *all) {
    double sum = 0, t = NAN, flow = NAN, when = NAN;
    for (size_t i = 0; i < log->n; i++) {
        if (isnan(log->flow[i]) || log->t[i] < from)
            continue;
        sum += isnan(t) ? 0 : (log->t[i] - t) * (log->flow[i] + flow) / 2;
        t = log->t[i];
        flow = log->flow[i];
        when = isnan(when) && sum >= volume ? t : when;
    }
    *all = sum;
    return when;
}

/* Does the scale gain what the flow shows?  1: yes, 0: no, -1: it does not tell. */
static int scale_agrees(const logged *log, double begins) {
    double all, ignored;
    time_of(log, begins, INFINITY, &all);
    const double volume = fmin(some, all / 2), when = time_of(log, begins, volume, &ignored);
    if (log->weight == NULL || isnan(when))
        return -1;
    const double after = when + scale_slower, before = begins - scale_slower;
    const double gained = mean_in(log, log->weight, after - moment, after + moment) -
                          mean_in(log, log->weight, before - moment, before + moment);
    return isnan(gained) ? -1 : gained > volume / 2;
}

/* Water rushes into a basket and slows down where it is full; a stream does not. */
static bool rushes_in(const logged *log, double begins, double limit) {
    const double later = begins + moment + inrush_time;
    double sum = 0, count = 0;
    for (size_t i = 0; i < log->n; i++)
        if (log->t[i] > later && log->flow[i] > limit)
            sum += log->flow[i], count++;
    return !(highest_flow(log, begins, later) <= inrush_factor * sum / count);
}

bool shot_flow_is_beverage(const shot_table *shot) {
    const char *gauge = shot_head_value(&shot->head, "gauge");
    const logged log = {shot_table_column(shot, "time"), shot_table_column(shot, "pressure"),
                        shot_table_column(shot, "flow"), shot_table_column(shot, "weight"),
                        shot->rows.rows};
    if (log.n < 5 || log.pressure == NULL || log.flow == NULL)
        return false;
    const bool pump = gauge != NULL && strcmp(gauge, "pump") == 0;
    const double most = fmin(highest_flow(&log, log.t[0], INFINITY), water_fastest);
    if (most < some_water) /* a headspace comes under no pressure without a fill: Boyle's law */
        return most > 0 && !pump && pressed_for(&log, INFINITY, brewing) >= seconds;
    const double limit = shows * most;
    const double begins = first_over(&log, limit) - moment;
    const bool at_rest = fabs(mean_in(&log, log.flow, log.t[0], log.t[0] + moment)) <= limit;
    if (!at_rest)
        return false;
    const int agrees = scale_agrees(&log, begins);
    if (agrees >= 0)
        return agrees && pressed_for(&log, begins, some_pressure) >= some_seconds;
    return !pump && pressed_for(&log, begins, pressed) >= seconds &&
           !rushes_in(&log, begins, limit);
}
