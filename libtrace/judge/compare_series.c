/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Every measure of one series of shots, in the order in which they were pulled. */
#include "judge/compare_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/judge/measure.h>
#include <shottrace/signal/multiplicity.h>

/* Whether the machine is well shows in what it does before and around the coffee. */
static const char *const machine_measures[] = {"fill.flow", "preinfusion.time", "brew.pressure",
                                               "pressure.zero", "ripple.rate"};

static bool is_wanted(const shot_compare_result *result, const char *name) {
    const struct compare_settings *s = result->settings;
    for (size_t i = 0; i < s->measures.count; i++)
        if (strcmp(s->measures.items[i], name) == 0)
            return true;
    if (s->measures.count > 0)
        return s->primary != NULL && strcmp(s->primary, name) == 0;
    for (size_t i = 0; s->machine && i < sizeof machine_measures / sizeof *machine_measures; i++)
        if (strcmp(machine_measures[i], name) == 0)
            return true;
    return !s->machine && !shot_measure_is_clock(name);
}

/* Put the shots of the group into their order, and their values beside them. */
static shot_status line_up(const shot_compare_groups *groups, shot_compare_series *series) {
    const shot_measure_table *table = &groups->table;
    series->values = malloc((table->shot_count + 1) * sizeof *series->values);
    series->shots = malloc((table->shot_count + 1) * sizeof *series->shots);
    size_t *at_place = malloc((table->shot_count + 1) * sizeof *at_place);
    if (series->values == NULL || series->shots == NULL || at_place == NULL) {
        free(at_place);
        return SHOT_ERR_MEMORY;
    }
    for (size_t i = 0; i < table->shot_count; i++)
        at_place[groups->place[i]] = i;
    for (size_t place = 0; place < table->shot_count; place++) {
        size_t shot = at_place[place];
        if (table->shots[shot].group != series->group)
            continue;
        series->shots[series->count] = shot;
        series->values[series->count++] = shot_measure_table_value(table, shot, series->column);
    }
    free(at_place);
    return SHOT_OK;
}

bool shot_compare_is_count(const char *measure) {
    const char *last = strrchr(measure, '.');
    return last != NULL && strcmp(last, ".count") == 0;
}

/* A few knees or surges a shot are far from normal: what rests on that is no figure of theirs.
 * Ranks and orders are. */
static void forget_normal(shot_repeatability *r) {
    r->days = 0;
    r->parts.p = NAN;
    r->sd_low = r->sd_high = r->apart = r->odd.p = NAN;
    r->limits = (shot_control_limits){NAN, NAN, NAN, NAN};
    r->outside = 0;
    r->last_outside = r->last_run = false;
}

/* Each day at its own level, where the clocks tell the days. */
static shot_status find_repeatability(const shot_compare_result *result,
                                      shot_compare_series *series) {
    const shot_compare_groups *groups = &result->groups;
    size_t *day = malloc((series->count + 1) * sizeof *day);
    if (day == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < series->count; i++)
        day[i] = groups->day[series->shots[i]];
    const shot_status status = shot_repeatability_of_days_find(
        series->values, day, groups->days, series->count, result->settings->level, &series->found);
    free(day);
    return status;
}

/* How many shots would settle a change, of shots of one day where days are known: those to come
 * take turns on each. */
static void plan_ahead(const shot_compare_result *result, shot_compare_series *series) {
    const shot_repeatability *r = &series->found;
    shot_contrast_rules rules = shot_contrast_usual_rules;
    rules.alpha = 1 - result->settings->level;
    rules.power = result->settings->power;
    rules.margin = series->margin;
    if (r->moments.n < rules.least || series->counted)
        return;
    const double sigma = r->days > 0 ? r->parts.within : r->moments.sd;
    const double df = (double)(r->moments.n - (r->days > 0 ? r->days : 1));
    shot_contrast_plan(sigma, df, &rules, &series->needed_low, &series->needed_high);
}

static shot_status add_series(shot_compare_result *result, size_t column, size_t group,
                              shot_error *error) {
    shot_compare_series *series = &result->series[result->series_count++];
    *series = (shot_compare_series){.column = column, .group = group};
    SHOT_TRY(line_up(&result->groups, series));
    SHOT_TRY(find_repeatability(result, series));
    const char *name = result->groups.table.columns[column].name;
    shot_control_chart_bound(series->values, series->count, shot_measure_least(name),
                             &series->found.limits);
    series->counted = shot_compare_is_count(name);
    if (series->counted)
        forget_normal(&series->found);
    series->p_odd = series->found.odd.p;
    series->p_trend = series->found.trend.p;
    series->p_change = series->found.change.p;
    series->p_days = series->found.parts.p;
    SHOT_TRY(shot_compare_find_margin(result, &result->groups.table.columns[column],
                                      &series->margin, error));
    plan_ahead(result, series);
    return SHOT_OK;
}

/* Holm over the series, for the p at `offset` of each. */
static shot_status correct(shot_compare_result *result, size_t offset) {
    double *p = malloc((result->series_count + 1) * sizeof *p);
    if (p == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < result->series_count; i++)
        p[i] = *(double *)((char *)&result->series[i] + offset);
    shot_status status = shot_multiplicity_holm(p, result->series_count, p);
    for (size_t i = 0; i < result->series_count && status == SHOT_OK; i++)
        *(double *)((char *)&result->series[i] + offset) = p[i];
    free(p);
    return status;
}

shot_status shot_compare_find_series(shot_compare_result *result, shot_error *error) {
    SHOT_TRY(shot_compare_need_columns(result, error));
    SHOT_TRY(shot_compare_check_margins(result, error));
    const shot_measure_table *table = &result->groups.table;
    result->series = calloc(table->column_count + 1, sizeof *result->series);
    if (result->series == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t c = 0; c < table->column_count; c++)
        if (is_wanted(result, table->columns[c].name))
            SHOT_TRY(add_series(result, c, 0, error));
    SHOT_TRY(correct(result, offsetof(shot_compare_series, p_odd)));
    SHOT_TRY(correct(result, offsetof(shot_compare_series, p_trend)));
    SHOT_TRY(correct(result, offsetof(shot_compare_series, p_days)));
    return correct(result, offsetof(shot_compare_series, p_change));
}
