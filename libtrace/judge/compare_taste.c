/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What tasters answered: is a difference tasted at all, and which cup do they like better? */
#include "judge/compare_parts.h"

#include <math.h>
#include <string.h>

#include <shottrace/signal/forced_choice.h>
#include <shottrace/trace/number_text.h>

#include "judge/words.h"

enum { MOST = 10000 };

const char *shot_compare_read_count(const char *text, size_t most, size_t *count) {
    double value;
    const char *after = shot_number_read(text, text + strlen(text), &value);
    if (after == NULL || value != floor(value) || !(value >= 0) || value > (double)most)
        return NULL;
    *count = (size_t)value;
    return after;
}

/* "9/12". */
static bool read_answers(const char *text, shot_compare_answers *out) {
    const char *after = shot_compare_read_count(text, MOST, &out->right);
    if (after == NULL || *after != '/')
        return false;
    after = shot_compare_read_count(after + 1, MOST, &out->all);
    return after != NULL && *after == '\0' && out->all > 0 && out->right <= out->all;
}

static shot_status check(const char *option, const char *text, shot_error *error) {
    shot_compare_answers answers;
    if (text == NULL || read_answers(text, &answers))
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_USAGE,
                     "--%s: '%s' is not how many of how many; give 9/12 for nine of twelve", option,
                     text);
}

shot_status shot_compare_check_taste(const struct compare_settings *settings, size_t groups,
                                     shot_error *error) {
    SHOT_TRY(check("triangles", settings->triangles, error));
    SHOT_TRY(check("pairs", settings->pairs, error));
    if (shot_compare_is_tasted(settings) && groups != 2)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--triangles and --pairs are of two kinds of cup; here are %zu", groups);
    return SHOT_OK;
}

bool shot_compare_is_answered(const struct compare_settings *settings) {
    shot_compare_answers answers;
    return (settings->triangles != NULL && read_answers(settings->triangles, &answers)) ||
           (settings->pairs != NULL && read_answers(settings->pairs, &answers));
}

bool shot_compare_is_tasted(const struct compare_settings *settings) {
    return settings->triangles != NULL || settings->pairs != NULL;
}

/* The chance of a guess, in words. */
static shot_status say_guess(shot_text *words, double p) {
    SHOT_TRY(shot_text_add(words, " (guessing alone: "));
    SHOT_TRY(shot_words_p(words, p));
    return shot_text_add(words, ")");
}

static shot_status say_needed(shot_text *words, size_t needed, size_t all, const char *of) {
    if (needed > all)
        return shot_text_add_format(words, "; so few cannot show one, whatever the answers");
    return shot_text_add_format(words, "; %zu%s would show one", needed, of);
}

/* Only one end of the range is of use: who tastes a difference wants to know that it is one to be
 * reckoned with, who does not how much he may have missed. */
static shot_status say_able(shot_text *words, const shot_compare_answers *a, double level,
                            bool shown) {
    double low, high;
    SHOT_TRY(shot_forced_choice_able(a->right, a->all, SHOT_TRIANGLE_GUESS, level, &low, &high));
    if (shown)
        return shot_text_add_format(words,
                                    ": a difference is tasted; guesses left out, the cups are told "
                                    "apart in %.0f to %.0f of 100 triangles.",
                                    100 * low, 100 * high);
    return shot_text_add_format(words,
                                ". That does not make them the same: up to %.0f of 100 triangles "
                                "may be told apart.",
                                100 * high);
}

static shot_status say_triangles(shot_text *words, const shot_compare_answers *a, double level) {
    const double p = shot_forced_choice_p(a->right, a->all, SHOT_TRIANGLE_GUESS);
    const bool shown = p <= 1 - level;
    SHOT_TRY(shot_text_add_format(words, "Tasted blind: the odd cup found in %zu of %zu triangles",
                                  a->right, a->all));
    SHOT_TRY(say_guess(words, p));
    if (!shown) {
        SHOT_TRY(shot_text_add(words, ": no difference is shown"));
        SHOT_TRY(say_needed(
            words, shot_forced_choice_needed(a->all, SHOT_TRIANGLE_GUESS, 1 - level), a->all, ""));
    }
    return say_able(words, a, level, shown);
}

/* Either cup may be the better one, so both ends count. */
static shot_status say_pairs(shot_text *words, const shot_compare_answers *a, double alpha,
                             const char *const labels[2], bool *preferred) {
    const size_t other = a->all - a->right, most = a->right > other ? a->right : other;
    const double p = fmin(1, 2 * shot_forced_choice_p(most, a->all, SHOT_PAIR_GUESS));
    SHOT_TRY(shot_text_add_format(words, "Tasted blind: %s liked better in %zu of %zu pairs",
                                  labels[a->right < other], most, a->all));
    SHOT_TRY(say_guess(words, p));
    *preferred = p <= alpha;
    if (*preferred)
        return shot_text_add(words, ": better, to those who tasted. Next: keep it, and try one "
                                    "other change against it.");
    SHOT_TRY(shot_text_add(words, ": no preference is shown"));
    SHOT_TRY(say_needed(words, shot_forced_choice_needed(a->all, SHOT_PAIR_GUESS, alpha / 2),
                        a->all, " for one of them"));
    return shot_text_add(words, ".");
}

shot_status shot_compare_write_taste(const struct compare_settings *s, const char *const labels[2],
                                     shot_text *text, bool *preferred) {
    shot_compare_answers answers;
    shot_text words = {0};
    *preferred = false;
    if (s->triangles != NULL && read_answers(s->triangles, &answers))
        SHOT_TRY(shot_words_take_paragraph(text, &words, say_triangles(&words, &answers, s->level),
                                           COMPARE_INDENT, COMPARE_HANG));
    if (s->pairs != NULL && read_answers(s->pairs, &answers))
        SHOT_TRY(shot_words_take_paragraph(
            text, &words, say_pairs(&words, &answers, 1 - s->level, labels, preferred),
            COMPARE_INDENT, COMPARE_HANG));
    return SHOT_OK;
}
