/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The measure named beforehand: the longest paragraph of the page. */
#include "judge/compare_parts.h"

#include <math.h>
#include <string.h>

#include "judge/words.h"

/* Columns before the figures of an item. */
enum { ITEM = 20 };

static shot_status add_group_line(shot_text *text, const shot_compare_result *result, size_t group,
                                  const shot_moments *m, int decimals) {
    size_t start = text->length;
    SHOT_TRY(shot_text_add_format(text, "    %s", shot_compare_label_of(result, group)));
    SHOT_TRY(shot_words_pad(text, start, ITEM));
    SHOT_TRY(shot_words_spread(text, m->mean, m->sd, decimals));
    SHOT_TRY(shot_words_pad(text, start, 40));
    SHOT_TRY(shot_words_count(text, m->n, shot_compare_unit_of(result)));
    return shot_words_end_line(text);
}

static shot_status add_item(shot_text *text, const char *name) {
    size_t start = text->length;
    SHOT_TRY(shot_text_add_format(text, "    %s", name));
    return shot_words_pad(text, start, ITEM);
}

/* An interval that holds at all looks together says so. */
static const char *over_looks(const shot_compare_row *row) {
    return row->look.count > 0 ? "over all looks " : "";
}

static shot_status add_difference(shot_text *text, const shot_compare_result *result,
                                  const shot_compare_row *row, int decimals) {
    const shot_contrast *c = &row->contrast;
    SHOT_TRY(add_item(text, "difference"));
    SHOT_TRY(shot_words_number(text, c->difference, decimals));
    if (!isnan(c->test.low)) {
        SHOT_TRY(shot_text_add_format(text, ", %g %% interval %s", 100 * result->settings->level,
                                      over_looks(row)));
        SHOT_TRY(shot_words_range(text, c->test.low, c->test.high, decimals));
    }
    SHOT_TRY(shot_words_end_line(text));
    if (isnan(c->effect.g))
        return SHOT_OK;
    SHOT_TRY(add_item(text, "in scatters"));
    SHOT_TRY(shot_words_number(text, c->effect.g, 1));
    SHOT_TRY(shot_text_add(text, " ("));
    SHOT_TRY(shot_words_range(text, c->effect.low, c->effect.high, 1));
    return shot_text_add(text, "), Hedges' g\n");
}

/* Begins an item that may take more than one line. */
static shot_status begin_item(shot_text *words, const char *name) {
    SHOT_TRY(shot_text_add(words, name));
    for (size_t width = strlen(name); width < ITEM - COMPARE_INDENT; width++)
        SHOT_TRY(shot_text_add(words, SHOT_WORDS_TIE));
    return SHOT_OK;
}

/* "look            2 of 4, ...": what a chance is held against. */
static shot_status add_look(shot_text *text, const shot_compare_look *look) {
    shot_text words = {0};
    shot_status status = begin_item(&words, "look");
    if (status == SHOT_OK)
        status = shot_compare_say_look(&words, look);
    return shot_words_take_paragraph(text, &words, status, COMPARE_INDENT, ITEM);
}

/* "scatter         0.49 times that of new, ...". */
static shot_status add_scatter(shot_text *text, const shot_compare_result *result,
                               const shot_compare_row *row) {
    shot_text words = {0};
    if (isnan(row->scatter.ratio))
        return SHOT_OK;
    shot_status status = begin_item(&words, "scatter");
    if (status == SHOT_OK)
        status = shot_compare_say_scatter(&words, result, row);
    return shot_words_take_paragraph(text, &words, status, COMPARE_INDENT, ITEM);
}

static double limit_of_same(const shot_compare_result *result, const shot_compare_row *row) {
    return row->look.count > 0 ? row->look.same : 1 - result->settings->level;
}

static shot_status add_chances(shot_text *text, const shot_compare_result *result,
                               const shot_compare_row *row, int decimals) {
    const shot_contrast *c = &row->contrast;
    SHOT_TRY(add_item(text, "chance alone"));
    SHOT_TRY(shot_words_p(text, row->p));
    SHOT_TRY(shot_text_add(text, c->method == SHOT_CONTRAST_WELCH     ? " (Welch)"
                                 : c->method == SHOT_CONTRAST_RANKS   ? " (its rank)"
                                 : c->method == SHOT_CONTRAST_DAYS    ? " (within days)"
                                 : c->method == SHOT_CONTRAST_BETWEEN ? " (between days)"
                                 : c->method == SHOT_CONTRAST_PAIRS   ? " (pairs)"
                                                                      : " (one scatter for all)"));
    if (!isnan(c->p_permutation)) {
        SHOT_TRY(shot_text_add(text, "; "));
        SHOT_TRY(shot_words_p(text, c->p_permutation));
        SHOT_TRY(shot_text_add(text, c->method == SHOT_CONTRAST_PAIRS ? " (all changes of sign)"
                                                                      : " (all permutations)"));
    }
    SHOT_TRY(shot_text_add(text, "\n"));
    if (row->look.count > 0)
        SHOT_TRY(add_look(text, &row->look));
    if (isnan(row->margin) || isnan(row->p_same))
        return SHOT_OK;
    /* the words first: a p of 1 beside "within the margin" would read as certainty that it is */
    SHOT_TRY(add_item(text, "within margin"));
    SHOT_TRY(
        shot_text_add(text, row->p_same <= limit_of_same(result, row) ? "shown, " : "not shown, "));
    SHOT_TRY(shot_words_p(text, row->p_same));
    SHOT_TRY(
        shot_text_add_format(text, "; %g %% interval ", 100 * (2 * result->settings->level - 1)));
    SHOT_TRY(shot_words_range(text, c->same_low, c->same_high, decimals));
    SHOT_TRY(shot_text_add(text, " against +-"));
    SHOT_TRY(shot_text_add_number(text, row->margin));
    return shot_text_add(text, "\n");
}

shot_status shot_compare_write_primary(const shot_compare_result *result,
                                       const shot_compare_row *row, shot_text *text) {
    const shot_contrast *c = &row->contrast;
    const shot_measure_column *column = shot_compare_column_of(result, row);
    int decimals = shot_compare_decimals_of(c);
    SHOT_TRY(shot_text_add(text, "  "));
    SHOT_TRY(shot_words_label(text, column->label, column->unit));
    SHOT_TRY(shot_text_add_format(text, ": %s\n", shot_compare_verdict_of(row)));
    SHOT_TRY(add_group_line(text, result, row->a, &c->a, decimals));
    SHOT_TRY(add_group_line(text, result, row->b, &c->b, decimals));
    SHOT_TRY(add_difference(text, result, row, decimals));
    if (c->method != SHOT_CONTRAST_NONE)
        SHOT_TRY(add_chances(text, result, row, decimals));
    SHOT_TRY(add_scatter(text, result, row));
    return shot_compare_write_plan(result, row, text);
}
