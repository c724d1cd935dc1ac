/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How many shots would settle a comparison, in words. */
#include "judge/compare_parts.h"

#include <math.h>
#include <stdint.h>

#include "judge/words.h"

const char *shot_compare_label_of(const shot_compare_result *result, size_t group) {
    return group == COMPARE_USUAL ? "the usual" : result->groups.labels[group];
}

int shot_compare_decimals_of(const shot_contrast *c) {
    return shot_words_contrast_decimals(c->sigma, fabs(c->a.mean) + fabs(c->b.mean));
}

const shot_measure_column *shot_compare_column_of(const shot_compare_result *result,
                                                  const shot_compare_row *row) {
    return &result->groups.table.columns[row->column];
}

const char *shot_compare_unit_of(const shot_compare_result *result) {
    return result->settings->within != NULL ? "pair" : "shot";
}

static shot_status add_count(shot_text *words, size_t count) {
    return count == SIZE_MAX ? shot_text_add(words, "more than a million")
                             : shot_text_add_format(words, "%zu", count);
}

static shot_status add_count_range(shot_text *words, size_t low, size_t high) {
    SHOT_TRY(add_count(words, low));
    if (low == high)
        return SHOT_OK;
    SHOT_TRY(shot_text_add(words, " to "));
    return add_count(words, high);
}

static size_t still(size_t needed, size_t there) {
    return needed == SIZE_MAX ? needed : needed > there ? needed - there : 0;
}

static shot_status add_more(shot_text *words, const shot_contrast *c, size_t there,
                            const char *label) {
    size_t low = still(c->needed_low, there), high = still(c->needed_high, there);
    if (high == 0)
        return shot_text_add_format(words, "no more of %s", label);
    SHOT_TRY(add_count_range(words, low, high));
    return shot_text_add_format(words, " more of %s", label);
}

bool shot_compare_starts_anew(const shot_compare_row *row) {
    return row->contrast.method == SHOT_CONTRAST_BETWEEN ||
           row->contrast.verdict == SHOT_VERDICT_DRIFTED;
}

shot_status shot_compare_say_more(shot_text *words, const shot_compare_result *result,
                                  const shot_compare_row *row) {
    const shot_contrast *c = &row->contrast;
    const bool pairs = c->method == SHOT_CONTRAST_PAIRS;
    if (shot_compare_starts_anew(row)) {
        SHOT_TRY(add_count_range(words, c->needed_low, c->needed_high));
        return shot_text_add(words, pairs ? " pairs, anew" : " of each, anew");
    }
    if (pairs) {
        SHOT_TRY(
            add_count_range(words, still(c->needed_low, c->a.n), still(c->needed_high, c->a.n)));
        return shot_text_add(words, " more pairs");
    }
    SHOT_TRY(add_more(words, c, c->a.n, shot_compare_label_of(result, row->a)));
    SHOT_TRY(shot_text_add(words, ", "));
    return add_more(words, c, c->b.n, shot_compare_label_of(result, row->b));
}

/* It is settled that they differ; by more than matters? */
static shot_status say_against_margin(shot_text *words, const shot_compare_result *result,
                                      const shot_compare_row *row) {
    const shot_t_test *test = &row->contrast.test;
    const char *unit = shot_compare_column_of(result, row)->unit;
    if (row->contrast.verdict != SHOT_VERDICT_DIFFERENT || isnan(row->margin))
        return SHOT_OK;
    const bool larger = test->low > row->margin || test->high < -row->margin;
    SHOT_TRY(shot_text_add(words, larger ? "The difference is larger than the margin of "
                                         : "Whether the difference is larger than the margin of "));
    SHOT_TRY(shot_text_add_number(words, row->margin));
    return shot_text_add_format(words, "%s%s%s", *unit ? " " : "", unit,
                                larger ? "." : " is not settled.");
}

static bool is_settled(const shot_compare_row *row) {
    const shot_verdict verdict = row->contrast.verdict;
    return verdict == SHOT_VERDICT_DIFFERENT || verdict == SHOT_VERDICT_SAME ||
           verdict == SHOT_VERDICT_NEGLIGIBLE;
}

/* About how many settle it, and how many of them are still to be pulled. */
static shot_status say_needed(shot_text *words, const shot_compare_result *result,
                              const shot_compare_row *row) {
    const shot_contrast *c = &row->contrast;
    const char *unit = shot_compare_column_of(result, row)->unit;
    const bool hopeless = c->needed_low == SIZE_MAX;
    SHOT_TRY(shot_text_add(words, hopeless ? "Even a million" : "About "));
    if (!hopeless)
        SHOT_TRY(add_count_range(words, c->needed_low, c->needed_high));
    SHOT_TRY(shot_text_add_format(words, " %s %s a difference of ",
                                  c->method == SHOT_CONTRAST_PAIRS ? "pairs" : "shots of each",
                                  hopeless ? "would not settle" : "settle"));
    SHOT_TRY(shot_text_add_number(words, row->margin));
    SHOT_TRY(shot_text_add_format(words, "%s%s", *unit ? " " : "", unit));
    if (shot_compare_starts_anew(row) && !hopeless)
        return shot_text_add(words, c->method == SHOT_CONTRAST_PAIRS
                                        ? ", if either side is first in half of them; those "
                                          "pulled one after the other do not count."
                                        : ", if they take turns on each day; those pulled apart "
                                          "do not count.");
    if (c->needed_high == SIZE_MAX)
        return shot_text_add(words, ".");
    SHOT_TRY(shot_text_add(words, ": "));
    SHOT_TRY(shot_compare_say_more(words, result, row));
    return shot_text_add(words, ".");
}

static shot_status say_plan(shot_text *words, const shot_compare_result *result,
                            const shot_compare_row *row) {
    const shot_contrast *c = &row->contrast;
    const char *unit = shot_compare_column_of(result, row)->unit, *space = *unit ? " " : "";
    int decimals = shot_compare_decimals_of(c);
    if (is_settled(row))
        return say_against_margin(words, result, row);
    if (c->needed_low > 0)
        return say_needed(words, result, row);
    if (isnan(c->detectable))
        return SHOT_OK;
    SHOT_TRY(shot_text_add_format(words, "This many %ss find a difference of ",
                                  shot_compare_unit_of(result)));
    SHOT_TRY(shot_words_number(words, c->detectable, decimals));
    return shot_text_add_format(words,
                                "%s%s or more in %.0f of 100 cases; say with --margin which "
                                "difference matters to learn how many would settle it.",
                                space, unit, 100 * result->settings->power);
}

shot_status shot_compare_say_ahead(shot_text *words, const shot_compare_result *result,
                                   const shot_compare_series *series) {
    const shot_measure_column *column = &result->groups.table.columns[series->column];
    const bool hopeless = series->needed_low == SIZE_MAX;
    SHOT_TRY(shot_text_add_format(words, "%s by ", column->label));
    SHOT_TRY(shot_text_add_number(words, series->margin));
    SHOT_TRY(
        shot_text_add_format(words, "%s%s, ", *column->unit ? SHOT_WORDS_TIE : "", column->unit));
    if (hopeless)
        return shot_text_add(words, "even a million");
    SHOT_TRY(shot_text_add(words, "about "));
    return add_count_range(words, series->needed_low, series->needed_high);
}

shot_status shot_compare_write_plan(const shot_compare_result *result, const shot_compare_row *row,
                                    shot_text *text) {
    shot_text words = {0};
    const shot_status status = say_plan(&words, result, row);
    if (words.length > 0)
        return shot_words_take_paragraph(text, &words, status, COMPARE_INDENT, COMPARE_INDENT);
    shot_text_free(&words);
    return status;
}
