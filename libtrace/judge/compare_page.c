/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A comparison of two groups for a person, at most 80 columns wide. */
#include "judge/compare_parts.h"

#include <math.h>
#include <stdint.h>

#include "judge/words.h"

enum { B_COLUMN = 19, DIFFERENCE_COLUMN = 34, EFFECT_COLUMN = 60, P_COLUMN = 69 };

/* A single shot against the usual ones: its question is whether it is unusual. */
bool shot_compare_is_single(const shot_compare_row *row) {
    return row->b == COMPARE_USUAL && row->contrast.a.n == 1;
}

const char *shot_compare_verdict_of(const shot_compare_row *row) {
    shot_verdict verdict = row->contrast.verdict;
    if (shot_compare_is_single(row) && verdict == SHOT_VERDICT_DIFFERENT)
        return "unusual";
    if (shot_compare_is_single(row) && verdict == SHOT_VERDICT_DRIFTED)
        return "unusual, or the day is";
    if (shot_compare_is_single(row) && verdict == SHOT_VERDICT_NOT_SETTLED)
        return "nothing unusual";
    return shot_verdict_text(verdict);
}

/* A paragraph indented by `indent`. */
static shot_status add_words(shot_text *text, size_t indent, const char *words) {
    return shot_words_paragraph(text, words, indent, indent);
}

static shot_status add_sentence(shot_text *text, size_t indent, shot_text *words,
                                shot_status status) {
    return shot_words_take_paragraph(text, words, status, indent, indent);
}

/* ---- the others ---- */

static bool is_told(const shot_compare_row *row) {
    return row->contrast.verdict != SHOT_VERDICT_MISSING &&
           !(row->contrast.verdict == SHOT_VERDICT_NO_SCATTER && row->contrast.difference == 0);
}

static shot_status add_exploratory_head(shot_text *text, const shot_compare_result *result,
                                        const shot_compare_row *row) {
    size_t start = text->length;
    SHOT_TRY(shot_text_add(text, "    "));
    SHOT_TRY(shot_words_cut(text, shot_compare_label_of(result, row->a), COMPARE_LABEL_SHOWN));
    SHOT_TRY(shot_words_pad(text, start, B_COLUMN));
    SHOT_TRY(shot_words_cut(text, shot_compare_label_of(result, row->b), COMPARE_LABEL_SHOWN));
    SHOT_TRY(shot_words_pad(text, start, DIFFERENCE_COLUMN));
    if (shot_compare_is_single(row) && result->tests > 1)
        SHOT_TRY(shot_text_add_format(text, "usual for all %zu (%g %%)", result->tests,
                                      100 * result->settings->level));
    else
        SHOT_TRY(shot_text_add_format(
            text, shot_compare_is_single(row) ? "usual for one (%g %%)" : "difference (%g %%)",
            100 * result->settings->level));
    SHOT_TRY(shot_words_pad(text, start, EFFECT_COLUMN));
    SHOT_TRY(shot_text_add(text, "scatters"));
    SHOT_TRY(shot_words_pad(text, start, P_COLUMN));
    return shot_text_add(text, "chance\n");
}

/* The range that the usual shots keep in all measures at once: what lies outside is unusual. */
static shot_status add_usual_range(shot_text *text, const shot_compare_result *result,
                                   const shot_compare_row *row, int decimals) {
    const shot_contrast *c = &row->contrast;
    shot_t_test wide;
    if (shot_two_sample_test(c->difference, c->test.se, c->test.df, result->together, &wide) !=
        SHOT_OK)
        return SHOT_OK; /* no scatter to tell it from */
    const double least = shot_measure_least(shot_compare_column_of(result, row)->name);
    return shot_words_range(text, fmax(c->a.mean - wide.high, fmin(least, c->a.mean)),
                            c->a.mean - wide.low, decimals);
}

/* The difference with its interval; of a single shot the range that is usual for one. */
static shot_status add_difference_cell(shot_text *text, const shot_compare_result *result,
                                       const shot_compare_row *row, int decimals) {
    const shot_contrast *c = &row->contrast;
    if (c->method == SHOT_CONTRAST_RANKS)
        return shot_text_add(text, "counted");
    if (shot_compare_is_single(row))
        return add_usual_range(text, result, row, decimals);
    SHOT_TRY(shot_words_number(text, c->difference, decimals));
    if (c->method == SHOT_CONTRAST_NONE)
        return SHOT_OK;
    SHOT_TRY(shot_text_add(text, " ("));
    SHOT_TRY(shot_words_range(text, c->test.low, c->test.high, decimals));
    return shot_text_add(text, ")");
}

static shot_status add_exploratory_figures(shot_text *text, const shot_compare_result *result,
                                           const shot_compare_row *row) {
    const shot_contrast *c = &row->contrast;
    int decimals = shot_compare_decimals_of(c);
    size_t start = text->length;
    SHOT_TRY(shot_text_add(text, "    "));
    SHOT_TRY(shot_words_spread(text, c->a.mean, c->a.sd, decimals));
    SHOT_TRY(shot_words_pad(text, start, B_COLUMN));
    SHOT_TRY(shot_words_spread(text, c->b.mean, c->b.sd, decimals));
    SHOT_TRY(shot_words_pad(text, start, DIFFERENCE_COLUMN));
    SHOT_TRY(add_difference_cell(text, result, row, decimals));
    if (c->method != SHOT_CONTRAST_NONE) {
        SHOT_TRY(shot_words_pad(text, start, EFFECT_COLUMN));
        if (!isnan(c->effect.g))
            SHOT_TRY(shot_words_number(text, c->effect.g, 1));
        SHOT_TRY(shot_words_pad(text, start, P_COLUMN));
        SHOT_TRY(shot_words_p(text, row->p));
    }
    return shot_words_end_line(text);
}

/* ", in 3 and 5 shots" where some lack the measure. */
static shot_status add_measured(shot_text *text, const shot_compare_result *result,
                                const shot_compare_row *row) {
    const shot_compare_groups *groups = &result->groups;
    const size_t n = row->contrast.a.n, m = row->contrast.b.n;
    if (row->contrast.method == SHOT_CONTRAST_PAIRS)
        return n < shot_compare_count_pairs(groups, row->a, row->b)
                   ? shot_text_add_format(text, ", in %zu pairs", n)
                   : SHOT_OK;
    if (n == shot_compare_group_size(groups, row->a) &&
        m == shot_compare_group_size(groups, row->b))
        return SHOT_OK;
    return shot_text_add_format(text, ", in %zu and %zu shots", n, m);
}

static shot_status add_exploratory(shot_text *text, const shot_compare_result *result,
                                   const shot_compare_row *row) {
    const shot_measure_column *column = shot_compare_column_of(result, row);
    size_t start = text->length;
    SHOT_TRY(shot_text_add(text, "  "));
    SHOT_TRY(shot_words_label(text, column->label, column->unit));
    SHOT_TRY(add_measured(text, result, row));
    SHOT_TRY(shot_words_pad(text, start, 52));
    SHOT_TRY(shot_text_add(text, shot_compare_verdict_of(row)));
    SHOT_TRY(shot_words_end_line(text));
    SHOT_TRY(add_exploratory_figures(text, result, row));
    return row->contrast.needed_low > 0 ? shot_compare_write_plan(result, row, text) : SHOT_OK;
}

static shot_status say_names(shot_text *words, const shot_compare_result *result, size_t a,
                             size_t b, shot_verdict verdict, size_t *count) {
    for (size_t i = 0; i < result->row_count; i++) {
        const shot_compare_row *row = &result->rows[i];
        if (row->a != a || row->b != b || row->primary || is_told(row) ||
            row->contrast.verdict != verdict)
            continue;
        SHOT_TRY(shot_text_add(words, (*count)++ > 0 ? ", " : ""));
        SHOT_TRY(shot_text_add(words, shot_compare_column_of(result, row)->label));
    }
    return SHOT_OK;
}

/* One line for the measures that have nothing to compare. */
static shot_status add_untold(shot_text *text, const shot_compare_result *result, size_t a,
                              size_t b, shot_verdict verdict, const char *title) {
    shot_text words = {0};
    size_t count = 0;
    shot_status status = shot_text_add(&words, title);
    if (status == SHOT_OK)
        status = say_names(&words, result, a, b, verdict, &count);
    if (count == 0) {
        shot_text_free(&words);
        return status;
    }
    return add_sentence(text, 2, &words, status);
}

/* ---- warnings ---- */

/* What a drift does to the difference: groups that took turns it leaves where it is. */
static shot_status say_of_drift(shot_text *words, const shot_compare_result *result,
                                const shot_compare_row *row) {
    const shot_contrast *c = &row->contrast;
    const shot_t_test *allowing = &c->allowing.test;
    const int decimals = shot_compare_decimals_of(c);
    bool confounded = false;
    if (c->method == SHOT_CONTRAST_DAYS && c->allowing.drift)
        return shot_text_add(words, "; the difference allows for it.");
    SHOT_TRY(shot_compare_is_confounded(result, row->a, row->b, &confounded));
    SHOT_TRY(shot_text_add(words, confounded ? ": the difference may be the drift's."
                                             : ": it adds to the scatter."));
    if (isnan(allowing->low) || !c->allowing.drift)
        return SHOT_OK;
    SHOT_TRY(shot_text_add(words, " Allowing for it the difference is "));
    SHOT_TRY(shot_words_number(words, allowing->difference, decimals));
    SHOT_TRY(shot_text_add(words, " ("));
    SHOT_TRY(shot_words_range(words, allowing->low, allowing->high, decimals));
    SHOT_TRY(shot_text_add(words, "), "));
    SHOT_TRY(shot_words_p(words, allowing->p));
    return shot_text_add(words, ".");
}

static shot_status add_drift(shot_text *text, const shot_compare_result *result,
                             const shot_compare_row *row) {
    const shot_measure_column *column = shot_compare_column_of(result, row);
    shot_text words = {0};
    double half = (row->drift.high - row->drift.low) / 2;
    int decimals = shot_words_decimals(half, row->drift.slope);
    shot_status status = shot_text_add_format(&words, "%s drifts by ", column->label);
    if (status == SHOT_OK)
        status = shot_words_number(&words, row->drift.slope, decimals);
    if (status == SHOT_OK)
        status =
            shot_text_add_format(&words, "%s%s a shot (", *column->unit ? " " : "", column->unit);
    if (status == SHOT_OK)
        status = shot_words_range(&words, row->drift.low, row->drift.high, decimals);
    if (status == SHOT_OK)
        status = shot_text_add(&words, ") within the groups, over the order of the shots");
    if (status == SHOT_OK)
        status = say_of_drift(&words, result, row);
    return add_sentence(text, 2, &words, status);
}

static bool is_any_by(const shot_compare_result *result, size_t a, size_t b,
                      shot_contrast_method method) {
    for (size_t i = 0; i < result->row_count; i++)
        if (result->rows[i].a == a && result->rows[i].b == b &&
            result->rows[i].contrast.method == method)
            return true;
    return false;
}

/* The usual shots tell how far days lie apart, if they are of several. */
static shot_status add_usual_days(shot_text *text, const shot_compare_result *result, size_t a) {
    bool apart = false;
    if (is_any_by(result, a, COMPARE_USUAL, SHOT_CONTRAST_BETWEEN))
        return add_words(text, 2,
                         "The usual shots are of several days: how far days lie apart is allowed "
                         "for.");
    SHOT_TRY(shot_compare_is_apart(result, a, COMPARE_USUAL, &apart));
    if (!apart || !shot_compare_is_of_one_day(&result->groups, COMPARE_USUAL))
        return SHOT_OK;
    return add_words(text, 2,
                     "The usual shots are of one day, and not of this one: how far days lie apart "
                     "is not known, and what is called unusual may be the day. Usual shots of "
                     "several days would tell.");
}

/* That the order is not known, or that days are compared each within itself. */
static shot_status add_order(shot_text *text, const shot_compare_result *result, size_t a,
                             size_t b) {
    if (b == COMPARE_USUAL)
        return add_usual_days(text, result, a);
    if (!shot_compare_order_is_known(result))
        return add_words(text, 2,
                         "The order in which these shots were pulled is not known: not every log "
                         "says when (a line '# date: 2026-05-04 07:30' would). Groups pulled one "
                         "after the other differ by the hour as well: beans age, grinders warm. "
                         "Alternate them.");
    if (is_any_by(result, a, b, SHOT_CONTRAST_DAYS))
        return add_words(text, 2,
                         "The shots are of several days: differences are those within days, "
                         "each day at its own level, and a drift over the day allowed for "
                         "where the order tells it.");
    if (is_any_by(result, a, b, SHOT_CONTRAST_BETWEEN))
        return add_words(text, 2,
                         "Differences are those of the days' means, held against how far days lie "
                         "apart: a day is one piece of news, however many shots it has. Both kinds "
                         "on each day would tell far more.");
    return SHOT_OK;
}

/* Said before the answers, which it takes the ground from. */
static shot_status add_confounding(shot_text *text, const shot_compare_result *result, size_t a,
                                   size_t b) {
    bool confounded = false, blocks = false;
    SHOT_TRY(shot_compare_is_confounded(result, a, b, &confounded));
    if (!confounded)
        return SHOT_OK;
    SHOT_TRY(shot_compare_in_blocks(&result->groups, a, b, &blocks));
    if (!blocks)
        return add_words(text, 2,
                         "Most days had shots of one group only, so what differs from day to day "
                         "looks like a difference between the groups. Pull both on each day.");
    return add_words(text, 2,
                     "These groups were pulled one after the other, so what changed with the hour "
                     "(beans, grinder, machine) looks like a difference between them. Alternate "
                     "them.");
}

static shot_status add_drifts(shot_text *text, const shot_compare_result *result, size_t a,
                              size_t b) {
    size_t tested = 0, found = 0;
    for (size_t i = 0; i < result->row_count; i++) {
        const shot_compare_row *row = &result->rows[i];
        if (row->a != a || row->b != b || isnan(row->p_drift))
            continue;
        tested++;
        if (row->p_drift > 1 - result->settings->level)
            continue;
        found++;
        SHOT_TRY(add_drift(text, result, row));
    }
    if (tested == 0 || found > 0)
        return SHOT_OK;
    shot_text words = {0};
    return add_sentence(text, 2, &words,
                        shot_text_add_format(&words,
                                             "No drift over the order of the shots shows "
                                             "(%zu measure%s looked at).",
                                             tested, tested == 1 ? "" : "s"));
}

/* ---- one pair of groups, all pairs ---- */

static shot_status say_title(shot_text *words, const shot_compare_result *result, size_t a,
                             size_t b) {
    const shot_compare_groups *groups = &result->groups;
    SHOT_TRY(shot_text_add_format(words, "%s (", shot_compare_label_of(result, a)));
    SHOT_TRY(shot_words_count(words, shot_compare_group_size(groups, a), "shot"));
    SHOT_TRY(shot_text_add_format(words, ") against %s (", shot_compare_label_of(result, b)));
    SHOT_TRY(shot_words_count(words, shot_compare_group_size(groups, b), "shot"));
    if (b == COMPARE_USUAL && shot_compare_group_size(groups, a) == 1)
        return shot_text_add(words, ")");
    return shot_text_add_format(words, "); differences are %s less %s",
                                shot_compare_label_of(result, a), shot_compare_label_of(result, b));
}

static shot_status add_title(shot_text *text, const shot_compare_result *result, size_t a,
                             size_t b) {
    shot_text words = {0};
    if (result->settings->by != NULL)
        SHOT_TRY(shot_text_add_format(&words, "%s ", result->settings->by));
    return add_sentence(text, 0, &words, say_title(&words, result, a, b));
}

/* Why there is no verdict of some measures, said once; where there is none at all, In short says
 * so. */
static shot_status add_too_few(shot_text *text, const shot_compare_result *result, size_t a,
                               size_t b) {
    bool few = false, tested = false;
    for (size_t i = 0; i < result->row_count; i++) {
        const shot_compare_row *row = &result->rows[i];
        if (row->a != a || row->b != b)
            continue;
        few = few || row->contrast.verdict == SHOT_VERDICT_TOO_FEW;
        tested = tested || row->contrast.method != SHOT_CONTRAST_NONE;
    }
    if (!few || !tested)
        return SHOT_OK;
    return add_words(text, 2,
                     b == COMPARE_USUAL
                         ? "Too few to tell: fewer than four of the usual shots have this measure."
                     : result->settings->within != NULL
                         ? "Too few to tell: fewer than four pairs have this measure."
                         : "Too few to tell: fewer than four shots of a side have this measure.");
}

static shot_status add_pair(shot_text *text, const shot_compare_result *result, size_t first) {
    size_t a = result->rows[first].a, b = result->rows[first].b;
    const bool paired = result->settings->within != NULL;
    bool headed = false;
    SHOT_TRY(add_title(text, result, a, b));
    SHOT_TRY(shot_compare_write_pairs(result, a, b, text));
    SHOT_TRY(add_confounding(text, result, a, b));
    SHOT_TRY(shot_compare_write_kinds(result, a, b, text));
    SHOT_TRY(shot_compare_write_short(result, a, b, text));
    for (size_t i = first; i < result->row_count; i++)
        if (result->rows[i].a == a && result->rows[i].b == b && result->rows[i].primary)
            SHOT_TRY(shot_compare_write_primary(result, &result->rows[i], text));
    for (size_t i = first; i < result->row_count; i++) {
        const shot_compare_row *row = &result->rows[i];
        if (row->a != a || row->b != b || row->primary || !is_told(row))
            continue;
        if (!headed)
            SHOT_TRY(add_exploratory_head(text, result, row));
        headed = true;
        SHOT_TRY(add_exploratory(text, result, row));
    }
    SHOT_TRY(
        add_untold(text, result, a, b, SHOT_VERDICT_NO_SCATTER,
                   paired ? "The same on both sides of every pair: " : "The same in every shot: "));
    SHOT_TRY(add_untold(text, result, a, b, SHOT_VERDICT_MISSING,
                        paired ? "Not measured in any pair: " : "Not measured in both: "));
    SHOT_TRY(add_too_few(text, result, a, b));
    SHOT_TRY(add_order(text, result, a, b));
    SHOT_TRY(add_drifts(text, result, a, b));
    return shot_text_add(text, "\n");
}

static bool is_single_pair(const shot_compare_result *result) {
    return result->row_count > 0 && result->rows[0].b == COMPARE_USUAL &&
           shot_compare_group_size(&result->groups, result->rows[0].a) == 1;
}

/* How many measures of a single shot lie outside the range that would hold for each alone. */
static shot_status say_alone(shot_text *words, const shot_compare_result *result) {
    const double alpha = 1 - result->settings->level;
    size_t outside = 0;
    for (size_t i = 0; i < result->row_count; i++)
        outside += !result->rows[i].primary && result->rows[i].contrast.test.p <= alpha;
    if (outside == 0 || result->tests < 2)
        return SHOT_OK;
    return shot_text_add_format(words,
                                " Looked at alone, %zu of them would be outside (by chance %.2g "
                                "on average, and measures of one shot go together).",
                                outside, alpha * (double)result->tests);
}

/* The measure named beforehand, held against the first group by several others. */
static shot_status add_foot_of_primary(shot_text *text, const shot_compare_result *result) {
    size_t tests = 0;
    for (size_t i = 0; i < result->row_count; i++)
        tests += result->rows[i].primary && result->rows[i].contrast.method != SHOT_CONTRAST_NONE;
    if (tests < 2)
        return SHOT_OK;
    shot_text words = {0};
    return add_sentence(text, 0, &words,
                        shot_text_add_format(&words,
                                             "%s is tested %zu times, once for each pair of "
                                             "groups: its chances are corrected for that (Holm), "
                                             "intervals not.",
                                             result->settings->primary, tests));
}

static shot_status add_foot(shot_text *text, const shot_compare_result *result) {
    SHOT_TRY(add_foot_of_primary(text, result));
    if (result->tests == 0)
        return SHOT_OK;
    shot_text words = {0};
    const bool single = is_single_pair(result);
    shot_status status = shot_text_add_format(
        &words, "%s: %zu test%s, %s corrected for their number (Holm)%s.",
        result->settings->primary != NULL ? "The others are exploratory"
                                          : "All of this is exploratory",
        result->tests, result->tests == 1 ? "" : "s", single ? "chances and ranges" : "chances",
        single ? "" : ", intervals not");
    if (status == SHOT_OK && single)
        status = say_alone(&words, result);
    if (status == SHOT_OK)
        status = shot_text_add(&words, " What shows here is to be tested on new shots, named "
                                       "beforehand (--primary).");
    return add_sentence(text, 0, &words, status);
}

shot_status shot_compare_write_page(const shot_compare_result *result, shot_text *text) {
    SHOT_TRY(shot_compare_write_overall(result, text));
    for (size_t i = 0; i < result->row_count; i++) {
        const shot_compare_row *row = &result->rows[i];
        if (i == 0 || row->a != row[-1].a || row->b != row[-1].b)
            SHOT_TRY(add_pair(text, result, i));
    }
    return add_foot(text, result);
}
