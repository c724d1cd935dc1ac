/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A sweep for machines: one row of figures. */
#include "judge/sweep_parts.h"

#include <math.h>

#include <shottrace/trace/quoting.h>

static shot_status add_word(shot_text *text, const char *word) {
    SHOT_TRY(shot_text_add_csv(text, word));
    return shot_text_add(text, ",");
}

/* Figures, each behind a comma; empty where they are missing (NaN), or `found` is false. */
static shot_status add_figures(shot_text *text, size_t count, const double *figures, bool found) {
    for (size_t i = 0; i < count; i++) {
        SHOT_TRY(shot_text_add(text, ","));
        SHOT_TRY(shot_text_add_number(text, found ? figures[i] : NAN));
    }
    return SHOT_OK;
}

/* What was looked at, and whether there is an answer. */
static shot_status add_question(shot_text *text, const shot_sweep_result *result, bool tested) {
    static const char *const bounds[] = {"bounded", "all but", "everywhere"};
    const shot_measure_column *x = &result->groups.table.columns[result->x],
                              *y = &result->groups.table.columns[result->y];
    const shot_peak *peak = &result->peak;
    const char *answered = !result->fitted     ? "no"
                           : peak->shown       ? "yes"
                           : peak->by_parabola ? "open"
                                               : "no";
    SHOT_TRY(add_word(text, y->name));
    SHOT_TRY(add_word(text, y->unit));
    SHOT_TRY(add_word(text, x->name));
    SHOT_TRY(add_word(text, x->unit));
    return shot_text_add_format(text, "%zu,%zu,%s,%s", result->points.count,
                                result->points.setting_count, answered,
                                tested && peak->parabola.peak ? bounds[peak->parabola.bounds] : "");
}

/* Where the peak is.  An interval that holds if the curve is a parabola, where nothing tested that,
 * is none. */
static shot_status add_peak(shot_text *text, const shot_sweep_result *result, bool tested) {
    const shot_peak *peak = &result->peak;
    const shot_vertex *v = &peak->parabola;
    const double figures[] = {peak->place,
                              peak->low,
                              peak->high,
                              result->settings->level,
                              v->inside_p,
                              v->bend_p,
                              peak->misfit_p,
                              v->lack_f,
                              v->place,
                              v->se,
                              tested ? v->low : NAN,
                              tested ? v->high : NAN,
                              v->g,
                              v->height,
                              v->sd};
    return add_figures(text, sizeof figures / sizeof *figures, figures, result->fitted);
}

static shot_status add_blocks(shot_text *text, const shot_sweep_result *result) {
    SHOT_TRY(shot_text_add(text, ","));
    if (result->blocks == 0)
        return shot_text_add(text, ",");
    SHOT_TRY(shot_text_add_format(text, "%zu,", result->blocks));
    return shot_text_add_csv(text, result->groups.block != NULL ? result->settings->within : "day");
}

static shot_status add_line(shot_text *text, const shot_slope *line) {
    const double figures[] = {line->slope, line->low, line->high, line->p};
    return add_figures(text, sizeof figures / sizeof *figures, figures, !isnan(line->p));
}

shot_status shot_sweep_write_csv(const shot_sweep_result *result, shot_text *text) {
    const bool tested = result->fitted && !isnan(result->peak.misfit_p);
    SHOT_TRY(shot_text_add(text,
                           "y,y.unit,x,x.unit,shots,settings,answered,bounds,place,low,high,"
                           "level,p.inside,p.bend,p.misfit,lack.f,vertex,vertex.se,"
                           "vertex.low,vertex.high,vertex.g,vertex.y,scatter,blocks,within,slope,"
                           "slope.low,slope.high,p.slope\n"));
    SHOT_TRY(add_question(text, result, tested));
    SHOT_TRY(add_peak(text, result, tested));
    SHOT_TRY(add_blocks(text, result));
    SHOT_TRY(add_line(text, &result->line));
    return shot_text_add(text, "\n");
}
