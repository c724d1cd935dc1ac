/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The points of a sweep, its settings, and the peak. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/judge/measure.h>
#include <shottrace/signal/distribution.h>
#include <shottrace/signal/least_squares.h>
#include <shottrace/signal/sample_quantile.h>

#include "lack_of_memory.h"
#include "judge/sweep_parts.h"
#include "signal/block_centre.h"

/* Settings closer than this part of the sweep's range are one setting: a machine does not meet its
 * pressure to the last digit (common practice, no source). */
static const double same_setting = 1.0 / 20;

static shot_status find_column(shot_measure_table *table, const char *name, size_t *column,
                               shot_error *error) {
    if (!shot_measure_table_find(table, name, column))
        SHOT_TRY(shot_measure_table_add_key(table, name, error));
    if (shot_measure_table_find(table, name, column))
        return SHOT_OK;
    if (shot_measure_kind_named(name) != NULL)
        return shot_fail(
            error, SHOT_ERR_DATA,
            "no shot has the measure '%s'; put the filters that find it before shot-sweep, or what "
            "a person knows onto the shots (shot-tag --set), or name another with --x or --y",
            name);
    return shot_measure_unknown(name, error);
}

/* ---- points ---- */

static shot_status make_room(shot_sweep_points *p, size_t count) {
    p->x = malloc((count + 1) * sizeof *p->x);
    p->y = malloc((count + 1) * sizeof *p->y);
    p->setting = malloc((count + 1) * sizeof *p->setting);
    p->place = malloc((count + 1) * sizeof *p->place);
    p->settings = malloc((count + 1) * sizeof *p->settings);
    p->shot = malloc((count + 1) * sizeof *p->shot);
    p->shift = calloc(count + 1, sizeof *p->shift);
    p->block = calloc(count + 1, sizeof *p->block);
    bool there =
        p->x && p->y && p->setting && p->place && p->settings && p->shot && p->shift && p->block;
    return there ? SHOT_OK : SHOT_ERR_MEMORY;
}

static shot_status collect(shot_sweep_result *result) {
    const shot_measure_table *table = &result->groups.table;
    shot_sweep_points *p = &result->points;
    SHOT_TRY(make_room(p, table->shot_count));
    for (size_t i = 0; i < table->shot_count; i++) {
        double x = shot_measure_table_value(table, i, result->x);
        double y = shot_measure_table_value(table, i, result->y);
        if (isnan(x) || isnan(y) || table->shots[i].group == COMPARE_LEFT_OUT)
            continue;
        p->x[p->count] = x;
        p->y[p->count] = y;
        p->place[p->count] = (double)result->groups.place[i];
        p->shot[p->count++] = i;
    }
    return SHOT_OK;
}

/* ---- settings ---- */

/* Cut the sorted values wherever the next one is further than `gap`; each run is a setting, at its
 * mean.  Returns their number. */
static size_t cut(const double *sorted, size_t n, double gap, double *settings) {
    size_t count = 0;
    for (size_t first = 0, last; first < n; first = last) {
        double sum = sorted[first];
        for (last = first + 1; last < n && sorted[last] - sorted[last - 1] <= gap; last++)
            sum += sorted[last];
        settings[count++] = sum / (double)(last - first);
    }
    return count;
}

/* Two settings, each as narrow as one: shots on both sides of a gap. */
static bool is_two(const double *sorted, size_t n, double gap) {
    size_t second = 1;
    while (second < n && sorted[second] - sorted[second - 1] <= gap)
        second++;
    return second < n && sorted[second - 1] - sorted[0] <= gap &&
           sorted[n - 1] - sorted[second] <= gap;
}

static double nearest(const shot_sweep_points *p, double x) {
    double best = p->settings[0];
    for (size_t i = 1; i < p->setting_count; i++)
        if (fabs(p->settings[i] - x) < fabs(best - x))
            best = p->settings[i];
    return best;
}

static shot_status find_settings(const shot_sweep_result *result, shot_sweep_points *p) {
    double *sorted = malloc((p->count + 1) * sizeof *sorted);
    if (sorted == NULL)
        return SHOT_ERR_MEMORY;
    memcpy(sorted, p->x, p->count * sizeof *sorted);
    shot_sample_quantile_sort(sorted, p->count);
    double range = p->count > 0 ? sorted[p->count - 1] - sorted[0] : 0;
    double gap = isnan(result->settings->step) ? same_setting * range : result->settings->step;
    p->setting_count = cut(sorted, p->count, gap, p->settings);
    /* values spread evenly are no settings: each stands for itself */
    if (p->setting_count < 3 && !is_two(sorted, p->count, gap))
        p->setting_count = cut(sorted, p->count, 0, p->settings);
    for (size_t i = 0; i < p->count; i++)
        p->setting[i] = nearest(p, p->x[i]);
    free(sorted);
    return SHOT_OK;
}

static double parabola(const shot_vertex *v, double x) {
    return v->b[0] + x * (v->b[1] + x * v->b[2]);
}

/* Move each point along the fitted curve to its setting: then repeats are repeats, and their
 * scatter judges the fit (near replicates: Christensen 1989, Ann. Stat. 17(2):673-683). */
static void move_to_settings(shot_sweep_points *p, const shot_vertex *v) {
    for (size_t i = 0; i < p->count; i++) {
        p->y[i] -= parabola(v, p->x[i]) - parabola(v, p->setting[i]);
        p->x[i] = p->setting[i];
    }
}

/* Of settings that had days of their own the shots of a day are one piece of news; so are, of
 * --within, those of one block and setting, since the blocks need not answer alike. */
static shot_status find_peak_of_means(shot_sweep_result *result) {
    const size_t *by = result->by_day ? result->groups.day : result->groups.block;
    shot_sweep_means means;
    shot_status status = shot_sweep_take_means(result, by, &means);
    if (status == SHOT_OK)
        status = shot_peak_find(means.x, means.y, result->by_day ? NULL : means.block, means.count,
                                result->settings->level, &result->peak);
    shot_sweep_free_means(&means);
    return status;
}

static shot_status fit_all(shot_sweep_result *result) {
    shot_sweep_points *p = &result->points;
    const size_t *block = shot_sweep_blocks_of(result);
    shot_vertex first;
    SHOT_TRY(shot_vertex_fit(p->x, p->y, block, p->count, result->settings->level, &first));
    move_to_settings(p, &first);
    SHOT_TRY(shot_sweep_level_blocks(result));
    return result->by_day || result->groups.block != NULL
               ? find_peak_of_means(result)
               : shot_peak_find(p->x, p->y, block, p->count, result->settings->level,
                                &result->peak);
}

static shot_status find_peak(shot_sweep_result *result) {
    const shot_status status = fit_all(result);
    result->fitted = status == SHOT_OK;
    if (status != SHOT_ERR_SINGULAR)
        return status;
    return result->levelled ? SHOT_OK : shot_sweep_level_blocks(result);
}

/* ---- order ---- */

static shot_status find_order(shot_sweep_result *result) {
    const shot_sweep_points *p = &result->points;
    shot_slope slope;
    result->p_order = result->drift.p = NAN;
    const shot_status status =
        shot_trend_slope(p->place, p->x, shot_sweep_blocks_of(result), p->count, 0.95, &slope);
    if (status == SHOT_ERR_MEMORY)
        return status;
    if (status == SHOT_OK)
        result->p_order = slope.p;
    else if (p->count > 3 + result->blocks)
        result->p_order = 0; /* without any scatter about the order: one after the other */
    return SHOT_OK;
}

/* Columns of the curve, of the order, and of y, each about the means of the blocks. */
static void fill_design(const shot_sweep_points *p, size_t blocks, double *design, double *mean,
                        double *count) {
    for (size_t i = 0; i < p->count; i++) {
        const double x = p->x[i] - p->settings[0];
        design[i] = x;
        design[p->count + i] = x * x;
        design[2 * p->count + i] = p->place[i];
        design[3 * p->count + i] = p->y[i];
    }
    for (size_t k = 0; k < 4; k++)
        centre_in_blocks(design + k * p->count, p->block, blocks, p->count, mean, count);
}

/* The order as a term beside the curve.  With under two degrees of freedom nothing is said. */
static shot_status find_drift(shot_sweep_result *result) {
    const shot_sweep_points *p = &result->points;
    const size_t levels = result->blocks > 0 ? result->blocks : 1;
    double b[3], v[9];
    result->drift.p = NAN;
    if (p->count < levels + 5)
        return SHOT_OK;
    double *room = malloc((4 * p->count + 2 * levels + shot_least_squares_workspace(p->count, 3)) *
                          sizeof *room);
    if (room == NULL)
        return SHOT_ERR_MEMORY;
    double *mean = room + 4 * p->count, *count = mean + levels;
    fill_design(p, levels, room, mean, count);
    const shot_status status =
        shot_least_squares_fit(room, room + 3 * p->count, p->count, 3, count + levels, b, v, NULL);
    free(room);
    if (status != SHOT_OK || !(v[8] > 0))
        return SHOT_OK;
    const double df = (double)(p->count - levels - 3); /* each level takes one */
    const double slope = b[2], se = sqrt(v[8] * (double)(p->count - 3) / df), t = slope / se;
    const double half = se * shot_student_quantile((1 + result->settings->level) / 2, df);
    result->drift = (shot_slope){
        slope, se, df, t, 2 * shot_student_tail(fabs(t), df), slope - half, slope + half};
    return SHOT_OK;
}

shot_status shot_sweep_find(shot_sweep_result *result, shot_error *error) {
    shot_measure_table *table = &result->groups.table;
    const struct sweep_settings *s = result->settings;
    SHOT_TRY(find_column(table, s->x, &result->x, error));
    SHOT_TRY(find_column(table, s->y, &result->y, error));
    SHOT_TRY(collect(result));
    SHOT_TRY(find_settings(result, &result->points));
    result->by_day = shot_sweep_is_by_day(result);
    shot_sweep_take_blocks(result);
    SHOT_TRY(find_peak(result));
    SHOT_TRY(shot_sweep_find_line(result));
    SHOT_TRY(find_order(result));
    return result->fitted && !result->by_day ? find_drift(result) : SHOT_OK;
}

void shot_sweep_result_free(shot_sweep_result *result) {
    shot_sweep_points *p = &result->points;
    free(p->x);
    free(p->y);
    free(p->setting);
    free(p->place);
    free(p->settings);
    free(p->shot);
    free(p->shift);
    free(p->block);
    shot_compare_groups_free(&result->groups);
}
