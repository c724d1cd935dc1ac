/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How far the shot kept to what the machine was asked for: deviation, and overshoot and settling
 * after the main rise (5 % band: Ogata 2010, 'Modern Control Engineering', sec. 5-3). */
#include "judge/measure_parts.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double band = 0.05;      /* of the wanted level, in which the shot has settled */
static const double least_hold = 2.0; /* s; a level held for less has nothing to settle to */

typedef struct comparison {
    const shot_view *view;
    const char *channel;
    const double *actual;
    double *wanted, *difference; /* [rows], owned; NaN where either is missing */
    double from, to;
} comparison;

/* ---- the wanted curve on the times of the shot ---- */

static double origin_of(const shot_table *curve) {
    const shot_mark *preinfusion = shot_mark_list_last(&curve->marks, "preinfusion");
    return preinfusion != NULL ? preinfusion->from : 0;
}

/* Linear between samples, nothing outside them; `*next` is the first sample not before `time`. */
static double curve_at(const double *times, const double *values, size_t n, double time,
                       size_t *next) {
    while (*next < n && times[*next] < time)
        ++*next;
    if (*next == n || (*next == 0 && times[0] > time))
        return NAN;
    if (times[*next] == time)
        return values[*next];
    double share = (time - times[*next - 1]) / (times[*next] - times[*next - 1]);
    return values[*next - 1] + share * (values[*next] - values[*next - 1]);
}

static void place_curve(const shot_view *view, const double *values, double *out) {
    const shot_table *curve = view->wanted;
    const double *times = shot_table_column(curve, "time");
    double start = isnan(view->water_in) ? (view->rows > 0 ? view->time[0] : 0) : view->water_in;
    double shift = origin_of(curve) - start;
    size_t next = 0;
    for (size_t i = 0; i < view->rows; i++)
        out[i] = curve_at(times, values, curve->rows.rows, view->time[i] + shift, &next);
}

/* What was wanted of the channel at each row; false if nothing was. */
static bool find_wanted(const shot_view *view, const char *channel, double *out) {
    char name[32];
    snprintf(name, sizeof name, "wanted.%s", channel);
    const double *own = shot_table_column(view->shot, name);
    if (own != NULL) {
        memcpy(out, own, view->rows * sizeof *out);
        return true;
    }
    const double *curve = view->wanted ? shot_table_column(view->wanted, name) : NULL;
    if (curve == NULL && view->wanted != NULL)
        curve = shot_table_column(view->wanted, channel);
    if (curve != NULL)
        place_curve(view, curve, out);
    return curve != NULL;
}

/* ---- figures ---- */

static bool compared(const comparison *c, size_t i) {
    return c->view->time[i] >= c->from && c->view->time[i] <= c->to && !isnan(c->difference[i]);
}

static shot_status add(const comparison *c, const char *figure, double value, double half,
                       shot_measure_list *out) {
    char name[64];
    snprintf(name, sizeof name, "wanted.%s.%s", c->channel, figure);
    return shot_measure_list_add(out, name, value, value - half, value + half, NULL);
}

static shot_status add_deviation(const comparison *c, shot_measure_list *out) {
    double squares = 0;
    size_t count = 0;
    for (size_t i = 0; i < c->view->rows; i++)
        if (compared(c, i)) {
            squares += c->difference[i] * c->difference[i];
            count++;
        }
    shot_straight_line line;
    if (shot_straight_line_fit(c->view->time, c->difference, c->view->rows, c->from, c->to,
                               &line) != SHOT_OK)
        return SHOT_OK;
    SHOT_TRY(add(c, "deviation", sqrt(squares / (double)count), NAN, out));
    return add(c, "bias", line.level, NAN, out);
}

/* The end of the wanted main rise: the first row within the band of the greatest wanted value. */
static size_t end_of_rise(const comparison *c) {
    double most = 0;
    for (size_t i = 0; i < c->view->rows; i++)
        if (compared(c, i))
            most = fmax(most, c->wanted[i]);
    size_t i = 0;
    while (i < c->view->rows && !(compared(c, i) && c->wanted[i] >= (1 - band) * most))
        i++;
    return most > 0 ? i : c->view->rows;
}

/* Rows first..end - 1, over which the wanted level is held. */
static size_t end_of_hold(const comparison *c, size_t first) {
    size_t i = first;
    double level = c->wanted[first];
    while (i < c->view->rows && c->view->time[i] <= c->to &&
           (isnan(c->wanted[i]) || fabs(c->wanted[i] - level) <= band * level))
        i++;
    return i;
}

static shot_status add_step_response(const comparison *c, shot_measure_list *out) {
    size_t first = end_of_rise(c);
    if (first == c->view->rows)
        return SHOT_OK;
    size_t end = end_of_hold(c, first);
    const double *time = c->view->time, level = c->wanted[first];
    if (!(time[end - 1] - time[first] >= least_hold))
        return SHOT_OK;
    double over = 0, settled = NAN;
    for (size_t i = first; i < end; i++) {
        double mean = shot_view_half_second(c->view, c->difference, i);
        if (isnan(mean))
            continue;
        over = fmax(over, mean);
        if (fabs(mean) > band * level)
            settled = NAN;
        else if (isnan(settled))
            settled = time[i] - time[first];
    }
    SHOT_TRY(add(c, "overshoot", over, NAN, out));
    return add(c, "settling", settled, NAN, out);
}

/* ---- whole ---- */

static shot_status compare(comparison *c, shot_measure_list *out) {
    const shot_view *view = c->view;
    if (!find_wanted(view, c->channel, c->wanted))
        return SHOT_OK;
    for (size_t i = 0; i < view->rows; i++)
        c->difference[i] = c->actual[i] - c->wanted[i];
    SHOT_TRY(add_deviation(c, out));
    return add_step_response(c, out);
}

static shot_status compare_channel(const shot_view *view, const char *channel,
                                   shot_measure_list *out) {
    comparison c = {.view = view,
                    .channel = channel,
                    .actual = shot_table_column(view->shot, channel),
                    .from = isnan(view->water_in) ? -INFINITY : view->water_in,
                    .to = isnan(view->brew_end.at) ? INFINITY : view->brew_end.at};
    if (c.actual == NULL || view->rows == 0)
        return SHOT_OK;
    c.wanted = malloc(view->rows * sizeof *c.wanted);
    c.difference = malloc(view->rows * sizeof *c.difference);
    shot_status status =
        c.wanted != NULL && c.difference != NULL ? compare(&c, out) : SHOT_ERR_MEMORY;
    free(c.wanted);
    free(c.difference);
    return status;
}

shot_status shot_measure_wanted(const shot_view *view, shot_measure_list *out) {
    SHOT_TRY(compare_channel(view, "pressure", out));
    return compare_channel(view, "flow", out);
}
