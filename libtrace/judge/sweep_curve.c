/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A sweep as points to draw: its shots, the means of its settings, the fitted curve, the peak. */
#include "judge/sweep_parts.h"

#include <math.h>

#include <shottrace/trace/quoting.h>

enum { CURVE_POINTS = 61 };

/* Numbers that are missing (NaN) leave their field empty, as do words that are NULL. */
static shot_status add_row(shot_text *text, const char *part, const double figures[5],
                           const char *label, const char *unit) {
    SHOT_TRY(shot_text_add(text, part));
    for (size_t i = 0; i < 5; i++) {
        SHOT_TRY(shot_text_add(text, ","));
        SHOT_TRY(shot_text_add_number(text, figures[i]));
    }
    SHOT_TRY(shot_text_add(text, ","));
    SHOT_TRY(shot_text_add_csv(text, label));
    SHOT_TRY(shot_text_add(text, ","));
    SHOT_TRY(shot_text_add_csv(text, unit));
    return shot_text_add(text, "\n");
}

static shot_status add_point(shot_text *text, const char *part, double x, double y,
                             const char *label) {
    return add_row(text, part, (const double[]){x, y, NAN, NAN, NAN}, label, NULL);
}

static shot_status add_axes(const shot_sweep_result *result, shot_text *text) {
    const shot_measure_column *columns = result->groups.table.columns;
    static const double none[] = {NAN, NAN, NAN, NAN, NAN};
    SHOT_TRY(add_row(text, "axis.x", none, columns[result->x].label, columns[result->x].unit));
    return add_row(text, "axis.y", none, columns[result->y].label, columns[result->y].unit);
}

/* What the points are less: what their block adds. */
static shot_status add_blocks(const shot_sweep_result *result, shot_text *text) {
    static const double none[] = {NAN, NAN, NAN, NAN, NAN};
    if (!result->levelled)
        return SHOT_OK;
    return add_row(text, "less", none,
                   result->groups.block != NULL ? result->settings->within : "day", NULL);
}

/* The shots as they were measured, less what their block adds; not moved to their settings. */
static shot_status add_shots(const shot_sweep_result *result, shot_text *text) {
    const shot_measure_table *table = &result->groups.table;
    for (size_t i = 0; i < result->points.count; i++) {
        size_t shot = result->points.shot[i];
        SHOT_TRY(
            add_point(text, "point", shot_measure_table_value(table, shot, result->x),
                      shot_measure_table_value(table, shot, result->y) - result->points.shift[i],
                      table->shots[shot].name));
    }
    return SHOT_OK;
}

static shot_status add_means(const shot_sweep_points *p, shot_text *text) {
    for (size_t i = 0; i < p->setting_count; i++) {
        double sum = 0, count = 0;
        for (size_t k = 0; k < p->count; k++)
            if (p->setting[k] == p->settings[i]) {
                sum += p->y[k];
                count++;
            }
        SHOT_TRY(add_point(text, "mean", p->settings[i], sum / count, NULL));
    }
    return SHOT_OK;
}

/* The parabola over the sweep; nothing where it does not fit. */
static shot_status add_curve(const shot_sweep_result *result, shot_text *text) {
    const shot_sweep_points *p = &result->points;
    const double *b = result->peak.parabola.b;
    if (!result->fitted || result->peak.misfit_p < 0.1) /* as shot_peak.fits */
        return SHOT_OK;
    double from = p->settings[0], to = p->settings[p->setting_count - 1];
    for (size_t i = 0; i < CURVE_POINTS; i++) {
        double x = from + (to - from) * (double)i / (CURVE_POINTS - 1);
        SHOT_TRY(add_point(text, "curve", x, b[0] + x * (b[1] + x * b[2]), NULL));
    }
    return SHOT_OK;
}

static shot_status add_peak(const shot_sweep_result *result, shot_text *text) {
    const shot_peak *peak = &result->peak;
    if (!result->fitted || !peak->shown)
        return SHOT_OK;
    const double figures[] = {peak->place, peak->fits ? peak->parabola.height : NAN, peak->low,
                              peak->high, result->settings->level};
    return add_row(text, "peak", figures, NULL, result->groups.table.columns[result->x].unit);
}

shot_status shot_sweep_write_curve(const shot_sweep_result *result, shot_text *text) {
    SHOT_TRY(shot_text_add(text, "part,x,y,low,high,level,label,unit\n"));
    SHOT_TRY(add_axes(result, text));
    SHOT_TRY(add_blocks(result, text));
    SHOT_TRY(add_shots(result, text));
    SHOT_TRY(add_means(&result->points, text));
    SHOT_TRY(add_curve(result, text));
    return add_peak(result, text);
}
