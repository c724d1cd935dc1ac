/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A sweep as a straight line: by how much does a step of the setting change it?  Where there is no
 * peak, that is what is left to be asked. */
#include "judge/sweep_parts.h"

#include <math.h>

#include <shottrace/signal/mean_slope.h>

#include "judge/words.h"
#include "lack_of_memory.h"

/* Under this many settings any two lines fit as well (common practice, no source). */
enum { LEAST_SETTINGS = 3 };

/* Of settings that had days of their own: the means of the shots of a day and setting. */
static shot_status find_line_of_days(shot_sweep_result *result) {
    shot_sweep_means means;
    shot_status status = shot_sweep_take_means(result, result->groups.day, &means);
    if (status == SHOT_OK)
        status = shot_trend_slope(means.x, means.y, NULL, means.count, result->settings->level,
                                  &result->line);
    shot_sweep_free_means(&means);
    return status;
}

shot_status shot_sweep_find_line(shot_sweep_result *result) {
    const shot_sweep_points *p = &result->points;
    const double level = result->settings->level;
    result->line.p = NAN;
    if (p->setting_count < LEAST_SETTINGS)
        return SHOT_OK;
    return lack_of_memory_only(
        result->by_day ? find_line_of_days(result)
        : result->groups.block != NULL
            ? shot_mean_slope_find(p->x, p->y, p->block, p->count, level, &result->line)
            : shot_trend_slope(p->x, p->y, shot_sweep_blocks_of(result), p->count, level,
                               &result->line));
}

static bool is_shown(const shot_sweep_result *result) {
    return result->line.p <= 1 - result->settings->level;
}

/* Either way: the parabola's test is of a bend downwards alone. */
static bool is_bent(const shot_sweep_result *result) {
    const double p = result->peak.parabola.bend_p;
    return result->fitted && 2 * fmin(p, 1 - p) <= 1 - result->settings->level;
}

bool shot_sweep_is_line(const shot_sweep_result *result) {
    return is_shown(result) && !is_bent(result);
}

/* ---- words ---- */

static int decimals_of(const shot_slope *line) {
    return shot_words_decimals((line->high - line->low) / 2, line->slope);
}

/* " s for each 1 of week", " g for each bar". */
static shot_status say_units(shot_text *words, const shot_sweep_result *result) {
    const shot_measure_column *x = &result->groups.table.columns[result->x],
                              *y = &result->groups.table.columns[result->y];
    SHOT_TRY(shot_text_add_format(words, "%s%s for each ", *y->unit ? " " : "", y->unit));
    return *x->unit ? shot_text_add(words, x->unit)
                    : shot_text_add_format(words, "1 of %s", x->label);
}

shot_status shot_sweep_say_line(const shot_sweep_result *result, shot_text *words) {
    const shot_slope *line = &result->line;
    const bool falls = line->slope < 0;
    const int decimals = decimals_of(line);
    SHOT_TRY(shot_text_add(words, falls ? "falls by " : "rises by "));
    SHOT_TRY(shot_words_number(words, fabs(line->slope), decimals));
    SHOT_TRY(say_units(words, result));
    SHOT_TRY(shot_text_add(words, " ("));
    SHOT_TRY(shot_words_range(words, falls ? -line->high : line->low,
                              falls ? -line->low : line->high, decimals));
    return shot_text_add(words, ")");
}

/* Of what the line was fitted, where that is not the single shots. */
static shot_status say_basis(shot_text *words, const shot_sweep_result *result) {
    if (result->by_day)
        return shot_text_add(words, " through the means of the days");
    return result->groups.block != NULL
               ? shot_text_add_format(words, " (the mean of the slopes of %.0f)",
                                      result->line.df + 1)
               : SHOT_OK;
}

static shot_status say(shot_text *words, const shot_sweep_result *result) {
    const shot_slope *line = &result->line;
    const int decimals = decimals_of(line);
    SHOT_TRY(shot_text_add(words, "As a straight line"));
    SHOT_TRY(say_basis(words, result));
    SHOT_TRY(shot_text_add(words, ": "));
    SHOT_TRY(shot_words_number(words, line->slope, decimals));
    SHOT_TRY(say_units(words, result));
    SHOT_TRY(shot_text_add_format(words, ", %g %% interval ", 100 * result->settings->level));
    SHOT_TRY(shot_words_range(words, line->low, line->high, decimals));
    SHOT_TRY(shot_text_add(words, ", "));
    SHOT_TRY(shot_words_p(words, line->p));
    return shot_text_add(words, !is_shown(result) ? ": neither a rise nor a fall is shown."
                                : is_bent(result) ? "; but the curve bends, and its slope is not "
                                                    "the same throughout."
                                                  : ".");
}

shot_status shot_sweep_write_line(const shot_sweep_result *result, shot_text *text) {
    shot_text words = {0};
    return isnan(result->line.p)
               ? SHOT_OK
               : shot_words_take_paragraph(text, &words, say(&words, result), 2, 2);
}
