/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A comparison for machines: CSV (RFC 4180), a row a measure and pair of groups, or a row a measure
 * of one series. */
#include "judge/compare_parts.h"

#include <math.h>
#include <stdint.h>

#include <shottrace/trace/quoting.h>

static shot_status add_number(shot_text *text, double value) {
    SHOT_TRY(shot_text_add(text, ","));
    return shot_text_add_number(text, value);
}

static shot_status add_numbers(shot_text *text, size_t count, const double *values) {
    for (size_t i = 0; i < count; i++)
        SHOT_TRY(add_number(text, values[i]));
    return SHOT_OK;
}

static shot_status add_name(shot_text *text, const char *name) {
    SHOT_TRY(shot_text_add(text, ","));
    return shot_text_add_csv(text, name);
}

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* ---- pairs of groups ---- */

static double count_or_nan(size_t count) {
    return count == 0 || count == SIZE_MAX ? NAN : (double)count;
}

static shot_status add_row(shot_text *text, const shot_compare_result *result,
                           const shot_compare_row *row) {
    const shot_contrast *c = &row->contrast;
    const shot_measure_column *column = &result->groups.table.columns[row->column];
    const char *b = row->b == COMPARE_USUAL ? "usual" : result->groups.labels[row->b];
    const double figures[] = {(double)c->a.n,
                              c->a.mean,
                              c->a.sd,
                              (double)c->b.n,
                              c->b.mean,
                              c->b.sd,
                              c->difference,
                              c->test.low,
                              c->test.high,
                              result->settings->level,
                              c->test.p,
                              row->p,
                              c->p_permutation,
                              c->effect.g,
                              c->effect.low,
                              c->effect.high,
                              row->margin,
                              row->p_same,
                              count_or_nan(c->needed_low),
                              count_or_nan(c->needed_high),
                              c->detectable,
                              row->drift.slope,
                              row->p_drift,
                              (double)c->allowing.blocks,
                              c->allowing.test.difference,
                              c->allowing.test.low,
                              c->allowing.test.high,
                              c->allowing.test.p};
    const shot_compare_look *look = &row->look;
    static const char *const methods[] = {"none", "welch",        "one scatter", "days",
                                          "rank", "between days", "pairs"};
    SHOT_TRY(shot_text_add_csv(text, column->name));
    SHOT_TRY(add_name(text, column->unit));
    SHOT_TRY(add_name(text, result->groups.labels[row->a]));
    SHOT_TRY(add_name(text, b));
    SHOT_TRY(add_name(text, row->primary ? "primary" : "exploratory"));
    SHOT_TRY(add_name(text, shot_verdict_text(c->verdict)));
    SHOT_TRY(add_numbers(text, COUNT(figures), figures));
    SHOT_TRY(add_name(text, methods[c->method]));
    SHOT_TRY(add_number(text, count_or_nan(look->index)));
    SHOT_TRY(add_number(text, count_or_nan(look->count)));
    SHOT_TRY(add_number(text, look->count > 0 ? look->different : NAN));
    SHOT_TRY(add_number(text, look->count > 0 ? look->same : NAN));
    SHOT_TRY(add_numbers(
        text, 3, (const double[]){row->scatter.ratio, row->scatter.low, row->scatter.high}));
    return shot_text_add(text, "\n");
}

shot_status shot_compare_write_csv(const shot_compare_result *result, shot_text *text) {
    SHOT_TRY(shot_text_add(
        text,
        "measure,unit,a,b,role,verdict,a.n,a.mean,a.sd,b.n,b.mean,b.sd,difference,low,high,"
        "level,p,p.corrected,p.permutation,g,g.low,g.high,margin,p.within,needed.low,"
        "needed.high,detectable,drift,drift.p.corrected,days,allowed,allowed.low,allowed.high,"
        "allowed.p,method,look,looks,look.p,look.p.within,"
        "scatter.ratio,scatter.low,scatter.high\n"));
    for (size_t i = 0; i < result->row_count; i++)
        SHOT_TRY(add_row(text, result, &result->rows[i]));
    return SHOT_OK;
}

/* ---- one series ---- */

static const char *shot_name(const shot_compare_result *result, const shot_compare_series *series,
                             size_t index, bool there) {
    return there ? result->groups.table.shots[series->shots[index]].name : "";
}

static shot_status add_series(shot_text *text, const shot_compare_result *result,
                              const shot_compare_series *series) {
    const shot_repeatability *r = &series->found;
    const shot_measure_column *column = &result->groups.table.columns[series->column];
    const double figures[] = {(double)r->moments.n, r->moments.mean,
                              r->scatter,           r->sd_low,
                              r->sd_high,           r->apart,
                              r->limits.low,        r->limits.high,
                              (double)r->outside,   r->enough ? r->trend.slope : NAN,
                              series->p_trend};
    const double change[] = {r->enough ? r->change.before : NAN, r->enough ? r->change.after : NAN,
                             series->p_change};
    SHOT_TRY(shot_text_add_csv(text, column->name));
    SHOT_TRY(add_name(text, column->unit));
    SHOT_TRY(add_numbers(text, COUNT(figures), figures));
    SHOT_TRY(add_name(text, shot_name(result, series, r->change.first, r->enough)));
    SHOT_TRY(add_numbers(text, COUNT(change), change));
    SHOT_TRY(add_name(text, shot_name(result, series, r->odd.index, r->enough)));
    SHOT_TRY(add_number(text, series->p_odd));
    const shot_nested_scatter *p = &r->parts;
    const double days[] = {count_or_nan(r->days), p->within,       p->within_low,
                           p->within_high,        p->between,      p->between_low,
                           p->between_high,       r->apart_within, series->p_days};
    const double none[COUNT(days)] = {NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN};
    SHOT_TRY(add_numbers(text, COUNT(days), r->days > 0 ? days : none));
    SHOT_TRY(add_name(text, isnan(series->p_trend) ? "" : r->days_differ ? "day" : "shot"));
    SHOT_TRY(add_number(text, series->margin));
    SHOT_TRY(add_number(text, count_or_nan(series->needed_low)));
    SHOT_TRY(add_number(text, count_or_nan(series->needed_high)));
    return shot_text_add(text, "\n");
}

shot_status shot_compare_write_series_csv(const shot_compare_result *result, shot_text *text) {
    SHOT_TRY(shot_text_add(text, "measure,unit,n,mean,sd,sd.low,sd.high,apart,limit.low,limit.high,"
                                 "outside,trend,trend.p.corrected,change.at,change.before,"
                                 "change.after,change.p.corrected,odd,odd.p.corrected,days,within,"
                                 "within.low,within.high,between,between.low,between.high,"
                                 "apart.within,days.p.corrected,trend.per,margin,needed.low,"
                                 "needed.high\n"));
    for (size_t i = 0; i < result->series_count; i++)
        SHOT_TRY(add_series(text, result, &result->series[i]));
    return SHOT_OK;
}
