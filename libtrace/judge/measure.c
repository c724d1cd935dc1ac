/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Measures: the list, and what its groups share. */
#include "judge/measure_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/sample_gaps.h>
#include <shottrace/trace/text.h>

#include "puck/beverage_flow.h"
#include "puck/water_counter.h"
#include "room.h"

static shot_status grow(shot_measure_list *list) {
    shot_measure *items = room_for_more(list->items, list->count, &list->room, 32, sizeof *items);
    if (items == NULL)
        return SHOT_ERR_MEMORY;
    list->items = items;
    return SHOT_OK;
}

shot_status shot_measure_list_add(shot_measure_list *list, const char *name, double value,
                                  double low, double high, const char *note) {
    const shot_measure_kind *kind = shot_measure_kind_named(name);
    if (kind == NULL)
        return SHOT_ERR_RANGE;
    if (!isfinite(value))
        return SHOT_OK;
    SHOT_TRY(grow(list));
    bool interval = isfinite(low) && isfinite(high), model = kind->group == SHOT_MEASURE_MODEL;
    const double least = fmin(shot_measure_least(name), value);
    shot_measure one = {kind,
                        value,
                        interval ? fmax(low, least) : NAN,
                        interval ? high : NAN,
                        interval && !model ? SHOT_MEASURE_LEVEL : NAN,
                        shot_text_copy(note)};
    if (note != NULL && one.note == NULL)
        return SHOT_ERR_MEMORY;
    list->items[list->count++] = one;
    return SHOT_OK;
}

const shot_measure *shot_measure_list_find(const shot_measure_list *list, const char *name) {
    for (size_t i = 0; i < list->count; i++)
        if (strcmp(list->items[i].kind->name, name) == 0)
            return &list->items[i];
    return NULL;
}

static bool is_among(const char *name, const char *const *names, size_t count) {
    for (size_t i = 0; i < count; i++)
        if (strcmp(names[i], name) == 0)
            return true;
    return false;
}

void shot_measure_list_leave_out(shot_measure_list *list, const char *const *names, size_t count) {
    size_t kept = 0;
    for (size_t i = 0; i < list->count; i++) {
        if (is_among(list->items[i].kind->name, names, count))
            free(list->items[i].note);
        else
            list->items[kept++] = list->items[i];
    }
    list->count = kept;
}

void shot_measure_list_free(shot_measure_list *list) {
    for (size_t i = 0; i < list->count; i++)
        free(list->items[i].note);
    free(list->items);
    *list = (shot_measure_list){0};
}

shot_status shot_measure_add_plain(shot_measure_list *out, const char *name, double value) {
    return shot_measure_list_add(out, name, value, NAN, NAN, NULL);
}

shot_status shot_measure_add_level(const shot_view *view, const char *channel, double from,
                                   double to, const char *name, shot_measure_list *out) {
    const double *values = shot_table_column(view->shot, channel);
    shot_straight_line line;
    if (values == NULL || !(to > from) ||
        shot_straight_line_fit_long_run(view->time, values, view->rows, from, to, &line) != SHOT_OK)
        return SHOT_OK;
    /* What moves as one says nothing about its mean: no interval is better than a senseless one. */
    if (line.effective_n < 5)
        return shot_measure_add_plain(out, name, line.level);
    const double half =
        hypot(shot_straight_line_half_width(&line, line.level_se, SHOT_MEASURE_LEVEL),
              shot_view_rounding(view, channel, &line, to - from));
    return shot_measure_list_add(out, name, line.level, line.level - half, line.level + half, NULL);
}

const double *shot_view_column(const shot_view *view, const char *channel) {
    return strcmp(channel, "weight") == 0 ? view->cup.weight
                                          : shot_table_column(view->shot, channel);
}

shot_status shot_view_line(const shot_view *view, const char *channel, double from, double to,
                           shot_straight_line *out) {
    const double *values = shot_view_column(view, channel);
    if (values == NULL || !(to > from))
        return SHOT_ERR_SINGULAR;
    return shot_straight_line_fit(view->time, values, view->rows, from, to, out);
}

/* A meter that shows one figure from start to end measures nothing. */
static bool changes(const double *values, size_t n) {
    double first = NAN;
    for (size_t i = 0; values != NULL && i < n; i++) {
        if (isnan(first))
            first = values[i];
        if (!isnan(values[i]) && values[i] != first)
            return true;
    }
    return false;
}

/* What passed while the meter was silent for longer than this, or than a gap of its usual
 * intervals, nobody knows.  1 s: common practice, no source. */
static double longest_silence(const shot_view *view, const double *flow) {
    double first = NAN, last = NAN;
    size_t count = 0;
    for (size_t i = 0; i < view->rows; i++) {
        if (isnan(flow[i]))
            continue;
        first = count++ == 0 ? view->time[i] : first;
        last = view->time[i];
    }
    return fmax(1, count > 1 ? SHOT_GAP_FACTOR * (last - first) / (double)(count - 1) : 0);
}

/* What passed between two samples, as far as that lies in from..to. */
static double water_between(double t0, double flow0, double t1, double flow1, double from,
                            double to) {
    const double a = fmax(from, t0), b = fmin(to, t1);
    const double middle = ((a + b) / 2 - t0) / (t1 - t0);
    return (b - a) * (flow0 + middle * (flow1 - flow0));
}

double shot_view_water(const shot_view *view, double from, double to) {
    const double *flow = view->water;
    if (changes(view->counter, view->rows) && !isnan(from))
        return shot_counter_between(view->time, view->counter, view->rows, from,
                                    isnan(to) ? INFINITY : to);
    double sum = NAN, last_time = NAN, last_flow = NAN, known_to = from;
    if (!changes(flow, view->rows) || isnan(from))
        return NAN;
    if (to <= from)
        return 0;
    const double silence = longest_silence(view, flow), end = isnan(to) ? INFINITY : to;
    for (size_t i = 0; i < view->rows && !(last_time >= end); i++) {
        if (isnan(flow[i]))
            continue;
        if (view->time[i] > from) {
            const double until = fmin(view->time[i], end);
            if (until - known_to > silence)
                return NAN;
            known_to = until;
            sum = isnan(sum) ? 0 : sum;
            if (!isnan(last_time))
                sum += water_between(last_time, last_flow, view->time[i], flow[i], from, end);
        }
        last_time = view->time[i];
        last_flow = flow[i];
    }
    return to - known_to > silence ? NAN : sum;
}

double shot_view_half_second(const shot_view *view, const double *values, size_t i) {
    double sum = 0;
    size_t count = 0;
    if (isnan(values[i]))
        return NAN;
    for (size_t k = i + 1; k-- > 0 && view->time[i] - view->time[k] <= 0.5;)
        if (!isnan(values[k])) {
            sum += values[k];
            count++;
        }
    return sum / (double)count;
}

shot_status shot_view_make(const shot_table *shot, const shot_table *wanted, shot_view *out) {
    const shot_mark *preinfusion = shot_mark_list_last(&shot->marks, "preinfusion");
    const shot_mark *brew = shot_mark_list_last(&shot->marks, "brew");
    const shot_dated never = {NAN, NAN, NAN};
    const bool beverage = shot_flow_is_beverage(shot);
    *out = (shot_view){
        .shot = shot,
        .wanted = wanted,
        .time = shot_table_column(shot, "time"),
        .water = beverage ? NULL : shot_table_column(shot, "flow"),
        .counter = shot_water_is_counted(&shot->head) ? shot_table_column(shot, "water") : NULL,
        .rows = shot->rows.rows,
        .beverage_flow = beverage,
        .water_in = preinfusion ? preinfusion->from : NAN,
        .brew_start = brew ? shot_dated_start(brew) : never,
        .brew_end = brew ? shot_dated_end(brew) : never};
    const cup_times when = {out->water_in, out->brew_end.at};
    SHOT_TRY(cup_gain_find(shot, out->water, when, &out->cup));
    const shot_status status = counted_marks_find(&out->marks, &shot->marks);
    if (status != SHOT_OK)
        cup_gain_free(&out->cup);
    return status;
}

void shot_view_free(shot_view *view) {
    cup_gain_free(&view->cup);
    counted_marks_free(&view->marks);
}

static int by_kind(const void *a, const void *b) {
    const shot_measure_kind *first = ((const shot_measure *)a)->kind;
    const shot_measure_kind *second = ((const shot_measure *)b)->kind;
    return (first > second) - (first < second);
}

static shot_status measure(const shot_view *view, shot_measure_list *out) {
    SHOT_TRY(shot_measure_pulled(view, out));
    SHOT_TRY(shot_measure_course(view, out));
    SHOT_TRY(shot_measure_pressure(view, out));
    SHOT_TRY(shot_measure_wanted(view, out));
    SHOT_TRY(shot_measure_machine(view, out));
    SHOT_TRY(shot_measure_resistance(view, out));
    SHOT_TRY(shot_measure_cup(view, out));
    SHOT_TRY(shot_measure_stream(view, out));
    SHOT_TRY(shot_measure_model(view, out));
    SHOT_TRY(shot_measure_findings(view, out));
    return shot_measure_bound_clipped(view, out);
}

shot_status shot_measures_of(const shot_table *shot, shot_measure_list *out, shot_error *error) {
    return shot_measures_against(shot, NULL, out, error);
}

shot_status shot_measures_against(const shot_table *shot, const shot_table *wanted,
                                  shot_measure_list *out, shot_error *error) {
    shot_view view;
    SHOT_TRY(shot_view_make(shot, wanted, &view));
    const shot_status status = measure(&view, out);
    shot_view_free(&view);
    SHOT_TRY(status);
    shot_measure_leave_out_cut(shot, out);
    if (out->count > 1)
        qsort(out->items, out->count, sizeof *out->items, by_kind);
    return SHOT_OK;
}
