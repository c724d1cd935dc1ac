/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pressure that is changed on purpose. */
#include "detect/surge_drive.h"

#include <math.h>

#include "detect/surge_shapes.h"

static const double per = 1;                   /* s over which a change is measured */
static const double lasting = 3;               /* s for which an even fall has lasted */
static const double even = 0.01;               /* share of pressure, by which a fall is even */
static const double half = 0.25;               /* s either side of an instant that are averaged */
static const double started = 0.1, done = 0.9; /* of a change: its transition (IEEE Std 181-2011) */
static const double clear = 2;                 /* standard errors */
static const double youngest = 0.5; /* s: what moves faster is the gauge's and meter's own */

size_t surge_first_at(const conductance_data *data, double t) {
    size_t low = 0, high = data->n;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (data->t[middle] - data->lag >= t)
            high = middle;
        else
            low = middle + 1;
    }
    return low;
}

static double mean_over(const conductance_data *data, const double *y, double from, double to,
                        size_t *count) {
    double sum = 0;
    size_t i = surge_first_at(data, from), first = i;
    for (; i < data->n && data->t[i] - data->lag <= to; i++)
        sum += y[i];
    *count = i - first;
    return i > first ? sum / (double)(i - first) : NAN;
}

double surge_last_before(const conductance_data *data, double t) {
    size_t i = surge_first_at(data, t);
    return i > 0 ? data->t[i - 1] - data->lag : -INFINITY;
}

double surge_first_from(const conductance_data *data, double t) {
    size_t i = surge_first_at(data, t);
    return i < data->n ? data->t[i] - data->lag : INFINITY;
}

double surge_mean_pressure(const conductance_data *data, double from, double to, double *se) {
    size_t n;
    double mean = mean_over(data, data->pressure, from, to, &n);
    *se = n > 0 ? data->pressure_sd / sqrt((double)n) : INFINITY;
    return mean;
}

/* Of a scale, by the rows of either half, as far apart as they are: beside a gap, or in a slow log,
 * they lie nearer each other than the halves. */
double surge_mean_flow(const conductance_data *data, double from, double to, double *se) {
    size_t n, m;
    if (!data->summed) {
        double flow = mean_over(data, data->y, from, to, &n);
        *se = n > 0 ? data->sd / sqrt((double)n) : INFINITY;
        return flow;
    }
    const double middle = (from + to) / 2;
    const double late = mean_over(data, data->y, middle, to, &n);
    const double early = mean_over(data, data->y, from, middle, &m);
    const double apart =
        mean_over(data, data->t, middle, to, &n) - mean_over(data, data->t, from, middle, &m);
    *se = apart > 0 ? data->sd * sqrt(1 / (double)n + 1 / (double)m) / apart : INFINITY;
    return apart > 0 ? (late - early) / apart : NAN;
}

typedef struct span {
    double from, to; /* s */
} span;

/* How pressure changes from one span to another, and whether flow goes with it: it does unless it
 * clearly does not.  A flow that clearly falls with the pressure goes with it, however little: a
 * bed that gives way lets through no less, but behind a pump that stands still the room over the
 * bed empties, and a scale shows late what left it. */
static surge_drive drive_between(const conductance_data *data, span early, span late) {
    const double more = data->summed ? half : 0, lag = data->drains ? surge_longest_drain : 0;
    double p_se, q_se, early_share, late_share;
    double p0 = surge_mean_pressure(data, early.from, early.to, &p_se);
    early_share = p_se / p0;
    double p1 = surge_mean_pressure(data, late.from, late.to, &p_se);
    double change = log(p1 / p0);
    if (!(fabs(change) > surge_purpose + clear * hypot(early_share, p_se / p1)))
        return SURGE_STEADY;
    double q0 = surge_mean_flow(data, early.from - more, early.to + more, &q_se);
    early_share = q_se / q0;
    double q1 = surge_mean_flow(data, late.from + lag - more, late.to + lag + more, &q_se);
    late_share = q_se / q1;
    const double flow = log(q1 / q0), flow_se = hypot(early_share, late_share);
    const double apart = change > 0 ? change - flow : flow - change;
    const bool both_fall = change < 0 && flow < -surge_purpose - clear * flow_se;
    bool alone =
        q0 > 0 && q1 > 0 && apart > clear * flow_se && apart > fabs(change) / 2 && !both_fall;
    return alone ? SURGE_STEADY : change > 0 ? SURGE_RAISED : SURGE_LOWERED;
}

/* Pressure falls by as much each second: of itself, as behind a piston or in a profile, or of what
 * is left, as behind a bed that empties a room. */
typedef enum course { BY_AMOUNT, BY_SHARE } course;

/* How far pressure at t is from a line through its ends, from..to, as a share. */
static double off_line(const conductance_data *data, course falls, double from, double to, double t,
                       double *se) {
    double p_se, a_share, b_share;
    const double a = surge_mean_pressure(data, from - half, from + half, &p_se);
    a_share = p_se / a;
    const double b = surge_mean_pressure(data, to - half, to + half, &p_se);
    b_share = p_se / b;
    const double p = surge_mean_pressure(data, t - half, t + half, &p_se);
    const double way = (t - from) / (to - from);
    const double line = falls == BY_SHARE ? a * pow(b / a, way) : a + (b - a) * way;
    *se = hypot(hypot(a_share, b_share) / 2, p_se / p);
    return fabs(log(p / line));
}

static bool keeps_course(const conductance_data *data, course falls, double t) {
    const double from = t - lasting, to = t + 2 * per;
    double se;
    for (double at = from + per; at < to; at += per)
        if (!(off_line(data, falls, from, to, at, &se) <= even + clear * se))
            return false;
    return true;
}

/* It has fallen as fast for some seconds and goes on so, as behind a spring or in a profile that
 * falls by design.  The bed follows as evenly, so that a loss shows in flow over pressure. */
static bool falls_evenly(const conductance_data *data, double t) {
    return keeps_course(data, BY_AMOUNT, t) || keeps_course(data, BY_SHARE, t);
}

static surge_drive drive_at(const conductance_data *data, double t) {
    return drive_between(data, (span){t - half, t + half}, (span){t + per - half, t + per + half});
}

/* Pressure is changed back within a second of sample i, which is then no after. */
static bool changes_back(const conductance_data *data, const surge_drive *drive, size_t i) {
    for (size_t k = i + 1; k < data->n && data->t[k] <= data->t[i] + per; k++)
        if (drive[k] != SURGE_STEADY && drive[k] != drive[i])
            return true;
    return false;
}

/* The noise of a meter may hide within a second that its flow does not go with the pressure; the
 * seconds before and after all of a fall that takes no longer than a surge tell. */
static void judge_whole(const conductance_data *data, surge_drive *drive) {
    for (size_t i = 0, end; i < data->n; i = end) {
        for (end = i + 1; end < data->n && drive[end] == drive[i];)
            end++;
        double from = data->t[i] - data->lag, to = data->t[end - 1] - data->lag;
        const double last = surge_last_before(data, from);
        span early = {fmin(last, from - per), last}, late = {to, to + per};
        if (drive[i] == SURGE_STEADY || to - from > surge_longest + per ||
            changes_back(data, drive, end - 1) || drive_between(data, early, late) != SURGE_STEADY)
            continue;
        for (size_t k = i; k < end; k++)
            drive[k] = SURGE_STEADY;
    }
}

/* Of the second from sample i on, mark the part in which the change is under way. */
static void mark_change(const conductance_data *data, size_t i, surge_drive here,
                        surge_drive *drive) {
    const double t = data->t[i] - data->lag;
    double se, before = surge_mean_pressure(data, t - half, t + half, &se);
    double all = log(surge_mean_pressure(data, t + per - half, t + per + half, &se) / before);
    for (size_t k = i; k < data->n && data->t[k] <= data->t[i] + per; k++) {
        double share = log(data->pressure[k] / before) / all;
        if (share > started)
            drive[k] = here;
        if (share > done)
            return;
    }
}

void surge_drive_find(const conductance_data *data, surge_drive *drive) {
    for (size_t i = 0; i < data->n; i++)
        drive[i] = SURGE_STEADY;
    for (size_t i = 0; i < data->n; i++) {
        surge_drive here = drive_at(data, data->t[i] - data->lag);
        if (here != SURGE_STEADY &&
            !(here == SURGE_LOWERED && falls_evenly(data, data->t[i] - data->lag)))
            mark_change(data, i, here, drive);
    }
    judge_whole(data, drive);
}

void surge_drive_age(const conductance_data *first, const surge_drive *drive,
                     conductance_data *data) {
    double since = first->t[0] - first->lag;
    size_t k = 0;
    for (size_t i = 0; i < data->n; i++) {
        double t = data->t[i] - data->lag;
        for (; k < first->n && first->t[k] - first->lag <= t; k++)
            if (drive[k] != SURGE_STEADY)
                since = first->t[k] - first->lag;
        data->age[i] = youngest + fmax(t - since, 0);
    }
}
