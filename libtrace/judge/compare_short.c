/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A comparison in short: which cup was better, and which measures differ.  What a person wants to
 * know first; the figures behind it follow on the page. */
#include "judge/compare_parts.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

#include "judge/words.h"

/* The rows of one pair of groups. */
typedef struct group_pair {
    const shot_compare_result *result;
    size_t a, b;
} group_pair;

static const shot_compare_row *row_at(const group_pair *pair, size_t i) {
    const shot_compare_row *row = &pair->result->rows[i];
    return row->a == pair->a && row->b == pair->b ? row : NULL;
}

/* "grind 2.4" where the groups are those of a key. */
static shot_status say_group(shot_text *words, const group_pair *pair, size_t group) {
    const char *by = pair->result->settings->by;
    return shot_text_add_format(words, "%s%s%s", by != NULL ? by : "", by != NULL ? " " : "",
                                shot_compare_label_of(pair->result, group));
}

static const char *name_of(const group_pair *pair, const shot_compare_row *row) {
    return shot_compare_column_of(pair->result, row)->name;
}

/* The score where it is told of by itself: against the usual it is a measure like the others. */
static const shot_compare_row *score_of(const group_pair *pair) {
    for (size_t i = 0; pair->b != COMPARE_USUAL && i < pair->result->row_count; i++) {
        const shot_compare_row *row = row_at(pair, i);
        if (row != NULL && strcmp(name_of(pair, row), "score") == 0)
            return row;
    }
    return NULL;
}

static bool is_scored(const group_pair *pair) {
    size_t column;
    return shot_measure_table_find(&pair->result->groups.table, "score", &column);
}

static bool is_tested(const group_pair *pair) {
    for (size_t i = 0; i < pair->result->row_count; i++) {
        const shot_compare_row *row = row_at(pair, i);
        if (row != NULL && row->contrast.method != SHOT_CONTRAST_NONE)
            return true;
    }
    return false;
}

static bool is_open(const shot_compare_row *row) {
    return row->contrast.verdict == SHOT_VERDICT_NOT_SETTLED;
}

/* A measure that was named beforehand is told of by itself, and so is the score. */
static bool is_told_apart(const group_pair *pair, const shot_compare_row *row) {
    return (row->primary && pair->b != COMPARE_USUAL) || row == score_of(pair);
}

/* Measures other than these of which no difference is settled. */
static size_t count_open(const group_pair *pair) {
    size_t count = 0;
    for (size_t i = 0; i < pair->result->row_count; i++) {
        const shot_compare_row *row = row_at(pair, i);
        count += row != NULL && is_open(row) && !is_told_apart(pair, row);
    }
    return count;
}

static shot_status add_sentence(shot_text *text, shot_text *words, shot_status status) {
    return shot_words_take_paragraph(text, words, status, COMPARE_INDENT, COMPARE_HANG);
}

/* ---- the cup ---- */

/* ", by 3.0 (1.2 to 4.8)", from the lower to the higher. */
static shot_status say_by_how_much(shot_text *words, const shot_contrast *c) {
    const int decimals = shot_compare_decimals_of(c);
    const bool fell = c->difference < 0;
    SHOT_TRY(shot_text_add(words, ", by "));
    SHOT_TRY(shot_words_number(words, fabs(c->difference), decimals));
    SHOT_TRY(shot_text_add(words, " ("));
    SHOT_TRY(shot_words_range(words, fell ? -c->test.high : c->test.low,
                              fell ? -c->test.low : c->test.high, decimals));
    return shot_text_add(words, ")");
}

/* Who knows which cup is which tastes what is expected of it (Meilgaard, Civille & Carr, Sensory
 * Evaluation Techniques, 4th ed. 2007, ch. 4, on errors of expectation). */
static shot_status say_better(shot_text *words, const group_pair *pair,
                              const shot_compare_row *score) {
    const shot_contrast *c = &score->contrast;
    bool confounded = false;
    SHOT_TRY(shot_text_add(words, "The cup: "));
    SHOT_TRY(say_group(words, pair, c->difference > 0 ? pair->a : pair->b));
    SHOT_TRY(shot_text_add(words, " scores higher"));
    SHOT_TRY(say_by_how_much(words, c));
    if (c->verdict == SHOT_VERDICT_NEGLIGIBLE)
        return shot_text_add(words, ", which is within the margin.");
    SHOT_TRY(shot_compare_is_confounded(pair->result, pair->a, pair->b, &confounded));
    if (confounded)
        return shot_text_add(words, ", or it is the hour or the day that does. Next: the same "
                                    "again, taking turns.");
    return shot_text_add(words, ": better, if the cups were tasted blind and in mixed order. "
                                "Next: keep it, and try one other change against it.");
}

static shot_status say_cup(shot_text *words, const group_pair *pair) {
    const shot_compare_row *score = score_of(pair);
    if (score == NULL || score->contrast.verdict == SHOT_VERDICT_MISSING)
        return shot_text_add(words, "The cup: not scored on both sides, so what differs is a "
                                    "change; whether it is better only taste can tell (a line "
                                    "'# score: 82' in each log, or shot-tag --table; or tasted "
                                    "blind, --pairs).");
    switch (score->contrast.verdict) {
    case SHOT_VERDICT_DIFFERENT:
    case SHOT_VERDICT_DRIFTED:
    case SHOT_VERDICT_NEGLIGIBLE:
        return say_better(words, pair, score);
    case SHOT_VERDICT_SAME:
        return shot_text_add(words, "The cup: the scores are the same within the margin.");
    default:
        return shot_text_add(words, "The cup: the scores do not show which is better; what differs "
                                    "is a change, not yet an improvement.");
    }
}

/* Nothing to speak of: scores that were there, but not asked for; a single shot's; none, or such as
 * show nothing, where the tasting does. */
static bool has_no_say(const group_pair *pair, bool tasted, bool preferred) {
    const shot_compare_row *score = score_of(pair);
    if (score == NULL)
        return tasted || is_scored(pair);
    return preferred && (is_open(score) || score->contrast.method == SHOT_CONTRAST_NONE);
}

/* What was tasted blind comes first. */
static shot_status add_cup(shot_text *text, const group_pair *pair) {
    shot_text words = {0};
    bool preferred = false;
    const bool tasted = shot_compare_is_tasted(pair->result->settings);
    if (tasted)
        SHOT_TRY(shot_compare_write_taste(
            pair->result->settings,
            (const char *const[]){shot_compare_label_of(pair->result, pair->a),
                                  shot_compare_label_of(pair->result, pair->b)},
            text, &preferred));
    if (pair->b == COMPARE_USUAL || has_no_say(pair, tasted, preferred))
        return SHOT_OK;
    return add_sentence(text, &words, say_cup(&words, pair));
}

/* ---- the measures ---- */

/* What is alike in all shots of each group, and not the same in both, was set so: the number of
 * pulses, a dose. */
static bool is_set(const shot_contrast *c) {
    const size_t enough = shot_contrast_usual_rules.least;
    return c->verdict == SHOT_VERDICT_NO_SCATTER && c->a.n >= enough && c->b.n >= enough &&
           c->a.sd == 0 && c->b.sd == 0;
}

/* Does the measure belong into a list?  `which` says more closely what is asked. */
typedef bool (*row_test)(const group_pair *pair, const shot_compare_row *row, int which);

/* Of a time more is longer, or later. */
static bool is_time(const group_pair *pair, const shot_compare_row *row) {
    return strcmp(shot_compare_column_of(pair->result, row)->unit, "s") == 0;
}

/* It differs, and is more on the side of the sign; what is no time. */
static bool is_more(const group_pair *pair, const shot_compare_row *row, int sign) {
    const shot_contrast *c = &row->contrast;
    return c->verdict == SHOT_VERDICT_DIFFERENT && c->difference * sign > 0 && !is_time(pair, row);
}

static bool is_longer(const group_pair *pair, const shot_compare_row *row, int sign) {
    const shot_contrast *c = &row->contrast;
    return c->verdict == SHOT_VERDICT_DIFFERENT && c->difference * sign > 0 && is_time(pair, row);
}

/* The same where a drift or the day may have done it. */
static bool is_more_or_drifted(const group_pair *pair, const shot_compare_row *row, int sign) {
    const shot_contrast *c = &row->contrast;
    return c->verdict == SHOT_VERDICT_DRIFTED && c->difference * sign > 0 && !is_time(pair, row);
}

static bool is_longer_or_drifted(const group_pair *pair, const shot_compare_row *row, int sign) {
    const shot_contrast *c = &row->contrast;
    return c->verdict == SHOT_VERDICT_DRIFTED && c->difference * sign > 0 && is_time(pair, row);
}

/* Set so, and not the same on both sides: no scatter, no test, and no chance to name. */
static bool is_set_apart(const group_pair *pair, const shot_compare_row *row, int which) {
    return is_set(&row->contrast) && row->contrast.difference != 0;
}

/* What a shot has or has not, however it was logged. */
static bool is_feature(const char *name) {
    static const char *const features[] = {"fill.time",    "soak.time",       "ramp.time",
                                           "release.time", "final-rise.time", "pulse.period"};
    for (size_t i = 0; i < sizeof features / sizeof *features; i++)
        if (strcmp(features[i], name) == 0)
            return true;
    return false;
}

/* A part that no shot of the other side has. */
static bool is_only(const group_pair *pair, const shot_compare_row *row, int sign) {
    const shot_contrast *c = &row->contrast;
    const size_t here = sign > 0 ? c->a.n : c->b.n, there = sign > 0 ? c->b.n : c->a.n;
    return here > 0 && there == 0 && is_feature(name_of(pair, row));
}

/* A margin was named for the measures that matter: a verdict by it is as much an answer as a
 * difference. */
static bool has_verdict(const group_pair *pair, const shot_compare_row *row, int verdict) {
    return row->contrast.verdict == (shot_verdict)verdict;
}

static const char *tie_before(const char *unit) {
    return *unit != '\0' ? SHOT_WORDS_TIE : "";
}

static shot_status say_measure(shot_text *words, const group_pair *pair,
                               const shot_compare_row *row) {
    const shot_measure_column *column = shot_compare_column_of(pair->result, row);
    SHOT_TRY(shot_text_add_format(words, "%s (%s", column->label,
                                  is_time(pair, row) ? "by" SHOT_WORDS_TIE : ""));
    SHOT_TRY(shot_words_number(words, fabs(row->contrast.difference),
                               shot_compare_decimals_of(&row->contrast)));
    return shot_text_add_format(words, "%s%s)", tie_before(column->unit), column->unit);
}

/* "knees (4 and 6)", of the one side and of the other. */
static shot_status say_set(shot_text *words, const group_pair *pair, const shot_compare_row *row) {
    const shot_measure_column *column = shot_compare_column_of(pair->result, row);
    const shot_contrast *c = &row->contrast;
    return shot_text_add_format(words, "%s (%.4g and %.4g%s%s)", column->label, c->a.mean,
                                c->b.mean, tie_before(column->unit), column->unit);
}

/* "soak (3 of 5 shots)". */
static shot_status say_only(shot_text *words, const group_pair *pair, const shot_compare_row *row) {
    const shot_contrast *c = &row->contrast;
    const size_t group = c->a.n > 0 ? pair->a : pair->b;
    SHOT_TRY(shot_text_add_format(words, "%s (%zu of ",
                                  shot_compare_column_of(pair->result, row)->label,
                                  c->a.n > 0 ? c->a.n : c->b.n));
    SHOT_TRY(
        shot_words_count(words, shot_compare_group_size(&pair->result->groups, group), "shot"));
    return shot_text_add(words, ")");
}

/* A list of measures. */
typedef struct row_list {
    const group_pair *pair;
    row_test holds;
    int which;
    shot_status (*say)(shot_text *words, const group_pair *pair, const shot_compare_row *row);
} row_list;

/* The score is told of by itself. */
static shot_status say_row(shot_text *words, const void *user, size_t i) {
    const row_list *list = user;
    const shot_compare_row *row = row_at(list->pair, i);
    return row != NULL && row != score_of(list->pair) && list->holds(list->pair, row, list->which)
               ? list->say(words, list->pair, row)
               : SHOT_OK;
}

static shot_status add_list(shot_text *text, const row_list *list, const char *title) {
    return shot_words_list(text, title,
                           (shot_words_items){list->pair->result->row_count, say_row, list}, NULL,
                           COMPARE_INDENT, COMPARE_HANG);
}

static shot_status add_those(shot_text *text, const group_pair *pair, const char *title,
                             row_test holds, int which) {
    const row_list list = {pair, holds, which, say_measure};
    return add_list(text, &list, title);
}

/* "More in coarse: ", or "More than usual: ". */
static shot_status add_side(shot_text *text, const row_list *list, const char *in,
                            const char *than_usual, const char *or_else) {
    const group_pair *pair = list->pair;
    const bool usual = pair->b == COMPARE_USUAL && than_usual != NULL;
    shot_text title = {0};
    shot_status status = shot_text_add(&title, usual ? than_usual : in);
    if (status == SHOT_OK && !usual)
        status = say_group(&title, pair, list->which > 0 ? pair->a : pair->b);
    if (status == SHOT_OK)
        status = shot_text_add_format(&title, "%s: ", or_else);
    if (status == SHOT_OK)
        status = add_list(text, list, title.bytes);
    shot_text_free(&title);
    return status;
}

static shot_status add_sides(shot_text *text, const group_pair *pair) {
    static const char drifted[] = ", by the change or by the hour or day";
    for (int sign = 1; sign >= -1; sign -= 2) {
        const char *more_than = sign > 0 ? "More than usual" : "Less than usual";
        const char *longer_than =
            sign > 0 ? "Later or longer than usual" : "Sooner or shorter than usual";
        const row_list more = {pair, is_more, sign, say_measure};
        const row_list longer = {pair, is_longer, sign, say_measure};
        const row_list more_or = {pair, is_more_or_drifted, sign, say_measure};
        const row_list longer_or = {pair, is_longer_or_drifted, sign, say_measure};
        const row_list only = {pair, is_only, sign, say_only};
        SHOT_TRY(add_side(text, &more, "More in ", more_than, ""));
        SHOT_TRY(add_side(text, &longer, "Later or longer in ", longer_than, ""));
        SHOT_TRY(add_side(text, &more_or, "More in ", more_than, drifted));
        SHOT_TRY(add_side(text, &longer_or, "Later or longer in ", longer_than, drifted));
        SHOT_TRY(add_side(text, &only, "Only in ", NULL, ""));
    }
    const row_list set = {pair, is_set_apart, 0, say_set};
    return add_list(text, &set, "Alike in all shots of either side, and not the same: ");
}

/* Where several looks were planned the plan says what comes next, and where it ends. */
static shot_status say_open_look(shot_text *words, const shot_compare_look *look) {
    if (look->next == 0)
        return shot_text_add(words, " The planned looks are over: more shots would be a new "
                                    "question, for shots of their own.");
    return shot_text_add_format(words,
                                " Next: on to %zu %s, the next look, taking turns, and no other "
                                "change before.",
                                look->next, shot_compare_counted_at(look));
}

/* What was asked has no answer yet: how many shots would give one, and that nothing else is to be
 * changed meanwhile. */
static shot_status say_open(shot_text *words, const group_pair *pair, const shot_compare_row *row) {
    const shot_contrast *c = &row->contrast;
    SHOT_TRY(shot_text_add_format(words, "Not settled, though named beforehand: %s.",
                                  shot_compare_column_of(pair->result, row)->label));
    if (row->look.count > 0)
        return say_open_look(words, &row->look);
    const bool enough = c->needed_high <= c->a.n || c->needed_high <= c->b.n;
    if (c->needed_low == 0 || c->needed_high == SIZE_MAX ||
        (enough && !shot_compare_starts_anew(row)))
        return SHOT_OK;
    SHOT_TRY(shot_text_add(words, " Next: "));
    SHOT_TRY(shot_compare_say_more(words, pair->result, row));
    return shot_text_add(words, ", taking turns, and no other change before. Look again when they "
                                "are all there: each look is one more chance of a false alarm, "
                                "unless --looks planned it.");
}

static shot_status add_open(shot_text *text, const group_pair *pair) {
    for (size_t i = 0; i < pair->result->row_count; i++) {
        const shot_compare_row *row = row_at(pair, i);
        shot_text words = {0};
        if (row == NULL || pair->b == COMPARE_USUAL || !row->primary || !is_open(row))
            continue;
        SHOT_TRY(add_sentence(text, &words, say_open(&words, pair, row)));
    }
    return SHOT_OK;
}

/* Of the measure named beforehand: to pull alike is a skill of its own. */
static shot_status add_steadier(shot_text *text, const group_pair *pair) {
    for (size_t i = 0; i < pair->result->row_count; i++) {
        const shot_compare_row *row = row_at(pair, i);
        shot_text words = {0};
        if (row == NULL || !row->primary || !row->steadier)
            continue;
        SHOT_TRY(add_sentence(text, &words, shot_compare_say_steadier(&words, pair->result, row)));
    }
    return SHOT_OK;
}

static shot_status say_rest(shot_text *words, const group_pair *pair, size_t open) {
    const bool usual = pair->b == COMPARE_USUAL;
    SHOT_TRY(shot_text_add(words, usual ? "Nothing unusual in " : "No difference shows in "));
    SHOT_TRY(shot_words_count(words, open, "measure"));
    return shot_text_add(words, usual ? "." : "; that does not make them the same.");
}

/* Of what was not named beforehand and shows no difference among so many, the row that is nearest
 * to one: what a next comparison could be about.  NULL where something shows, or nothing is near.
 */
static const shot_compare_row *nearest_of(const group_pair *pair) {
    const double alpha = 1 - pair->result->settings->level;
    const shot_compare_row *nearest = NULL;
    if (pair->b == COMPARE_USUAL || pair->result->settings->primary != NULL)
        return NULL;
    for (size_t i = 0; i < pair->result->row_count; i++) {
        const shot_compare_row *row = row_at(pair, i);
        if (row == NULL || row->contrast.method == SHOT_CONTRAST_NONE)
            continue;
        if (!is_open(row))
            return NULL;
        if (row->contrast.test.p <= alpha &&
            (nearest == NULL || row->contrast.test.p < nearest->contrast.test.p))
            nearest = row;
    }
    return nearest;
}

static shot_status say_nearest(shot_text *words, const group_pair *pair,
                               const shot_compare_row *row) {
    SHOT_TRY(shot_text_add(words, "Nearest to one: "));
    SHOT_TRY(say_measure(words, pair, row));
    SHOT_TRY(shot_text_add(words, ", "));
    SHOT_TRY(shot_words_p(words, row->p));
    return shot_text_add_format(words,
                                " as the nearest of %zu. If it is what you are after, name it "
                                "before the next shots: --primary %s.",
                                pair->result->tests, name_of(pair, row));
}

static shot_status add_rest(shot_text *text, const group_pair *pair) {
    shot_text words = {0};
    const size_t open = count_open(pair);
    const shot_compare_row *nearest = nearest_of(pair);
    if (open > 0)
        SHOT_TRY(add_sentence(text, &words, say_rest(&words, pair, open)));
    return open > 1 && nearest != NULL
               ? add_sentence(text, &words, say_nearest(&words, pair, nearest))
               : SHOT_OK;
}

static bool is_too_few(const group_pair *pair) {
    for (size_t i = 0; i < pair->result->row_count; i++) {
        const shot_compare_row *row = row_at(pair, i);
        if (row != NULL && row->contrast.verdict == SHOT_VERDICT_TOO_FEW)
            return true;
    }
    return false;
}

/* Nothing could be tested: said first, so that nobody reads on for a verdict. */
static shot_status add_too_few(shot_text *text, const group_pair *pair) {
    shot_text words = {0};
    return add_sentence(
        text, &words,
        shot_text_add(&words, pair->b == COMPARE_USUAL
                                  ? "Too few to tell: it takes four usual shots."
                              : pair->result->settings->within != NULL
                                  ? "Too few to tell: it takes four pairs, each with shots on "
                                    "either side."
                                  : "Too few to tell: it takes four shots a side. Pull more, or "
                                    "give earlier shots with --usual for their scatter."));
}

shot_status shot_compare_write_short(const shot_compare_result *result, size_t a, size_t b,
                                     shot_text *text) {
    const group_pair pair = {result, a, b};
    size_t channelled = 0;
    const bool too_few = !is_tested(&pair) && is_too_few(&pair);
    if (!is_tested(&pair) && !too_few && !shot_compare_is_tasted(result->settings))
        return SHOT_OK;
    SHOT_TRY(shot_text_add(text, "  In short\n"));
    if (too_few)
        SHOT_TRY(add_too_few(text, &pair));
    if (too_few && !shot_compare_is_tasted(result->settings))
        return SHOT_OK;
    SHOT_TRY(add_open(text, &pair));
    SHOT_TRY(shot_compare_write_odd(result, a, b, text));
    SHOT_TRY(add_cup(text, &pair));
    SHOT_TRY(shot_compare_write_traits(result, a, b, text, &channelled));
    SHOT_TRY(add_sides(text, &pair));
    SHOT_TRY(add_steadier(text, &pair));
    SHOT_TRY(add_those(text, &pair, "Different, but by less than the margin: ", has_verdict,
                       SHOT_VERDICT_NEGLIGIBLE));
    SHOT_TRY(
        add_those(text, &pair, "The same within the margin: ", has_verdict, SHOT_VERDICT_SAME));
    return add_rest(text, &pair);
}
