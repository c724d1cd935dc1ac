/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Before the shots: which kind is pulled when, and which cup stands where in a blind tasting.  And
 * behind a tasting of which no shots were logged, what its answers show. */
#include "judge/compare_parts.h"

#include <stdlib.h>

#include <shottrace/signal/balanced_order.h>
#include <shottrace/signal/forced_choice.h>
#include <shottrace/trace/quoting.h>

#include "judge/words.h"

/* Codes of three digits, as is usual (Meilgaard, Civille & Carr 2007, ch. 4): they say nothing of
 * order or worth. */
enum { FIRST_CODE = 101, LAST_CODE = 999, MOST_CODES = LAST_CODE - FIRST_CODE + 1 };

/* One kind of blind test. */
enum { MOST_CUPS = 3, MOST_KINDS = 6 };

typedef struct tasting {
    const char *title; /* of a test */
    size_t cups, kinds;
    size_t cup[MOST_KINDS][MOST_CUPS]; /* [kinds] the group in each cup */
    double guess, sides; /* right by chance; 2 where either answer may show something, else 1 */
    bool odd;            /* one of the cups is the answer */
    const char *answers, *show; /* "5" `answers` "of 6" `show` */
} tasting;

/* ISO 4120: the six orders of two kinds, each as often as the others. */
static const tasting triangle = {
    .title = "triangle",
    .cups = 3,
    .kinds = 6,
    .cup = {{0, 1, 1}, {1, 0, 1}, {1, 1, 0}, {0, 0, 1}, {0, 1, 0}, {1, 0, 0}},
    .guess = SHOT_TRIANGLE_GUESS,
    .sides = 1,
    .odd = true,
    .answers = " right",
    .show = "show that a difference is tasted"};

/* ISO 5495: both orders. */
static const tasting pair_of_cups = {.title = "pair",
                                     .cups = 2,
                                     .kinds = 2,
                                     .cup = {{0, 1}, {1, 0}},
                                     .guess = SHOT_PAIR_GUESS,
                                     .sides = 2,
                                     .answers = "",
                                     .show = "for one of them show that it is liked better"};

static bool read_tests(const char *text, const tasting *t, size_t *count) {
    const char *after = shot_compare_read_count(text, MOST_CODES / t->cups, count);
    return after != NULL && *after == '\0' && *count >= 1;
}

static shot_status check_tests(const char *option, const char *text, const tasting *t,
                               shot_error *error) {
    size_t count;
    if (text == NULL || read_tests(text, t, &count))
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_USAGE,
                     "--%s: '%s' is no number of tests; with --order give how many are to be "
                     "tasted, 1 to %zu, or what was answered (9/12)",
                     option, text, MOST_CODES / t->cups);
}

static shot_status check_sheet(const struct compare_settings *s, shot_error *error) {
    SHOT_TRY(check_tests("triangles", s->triangles, &triangle, error));
    SHOT_TRY(check_tests("pairs", s->pairs, &pair_of_cups, error));
    return s->triangles == NULL || s->pairs == NULL
               ? SHOT_OK
               : shot_fail(error, SHOT_ERR_USAGE, "--triangles and --pairs: one sheet at a time");
}

shot_status shot_compare_check_order(const struct compare_settings *s, shot_error *error) {
    if (s->order.count == 0)
        return SHOT_OK;
    if (shot_compare_is_answered(s))
        SHOT_TRY(shot_compare_check_taste(s, s->order.count, error));
    else
        SHOT_TRY(check_sheet(s, error));
    if (s->order.count < 2 || (shot_compare_is_tasted(s) && s->order.count != 2))
        return shot_fail(error, SHOT_ERR_USAGE,
                         shot_compare_is_tasted(s) ? "--order: a tasting is of two kinds (--order "
                                                     "usual,new)"
                                                   : "--order: name the kinds, two at the least "
                                                     "(--order usual,new)");
    if (s->days > s->each)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--days: %ld days for %ld shots of each; every day has each of them once "
                         "at the least",
                         s->days, s->each);
    return SHOT_OK;
}

/* ---- shots ---- */

/* Days of whole rounds, as even as they can be: the first of `rounds` of day `day`. */
static size_t first_round(size_t day, size_t days, size_t rounds) {
    return day * rounds / days;
}

static shot_status write_rounds(const struct compare_settings *s, const size_t *order,
                                shot_text *text) {
    const size_t kinds = s->order.count, rounds = (size_t)s->each, days = (size_t)s->days;
    SHOT_TRY(shot_text_add(text, "day,place,group\n"));
    for (size_t day = 0; day < days; day++) {
        const size_t first = first_round(day, days, rounds) * kinds;
        for (size_t i = first; i < first_round(day + 1, days, rounds) * kinds; i++) {
            SHOT_TRY(shot_text_add_format(text, "%zu,%zu,", day + 1, i - first + 1));
            SHOT_TRY(shot_text_add_csv(text, s->order.items[order[i]]));
            SHOT_TRY(shot_text_add(text, "\n"));
        }
    }
    return SHOT_OK;
}

static shot_status write_shots(const struct compare_settings *s, shot_random *random,
                               shot_text *text) {
    size_t *order = malloc(s->order.count * (size_t)s->each * sizeof *order);
    shot_status status = SHOT_ERR_MEMORY;
    if (order != NULL)
        status = shot_balanced_order(s->order.count, (size_t)s->each, random, order);
    if (status == SHOT_OK)
        status = write_rounds(s, order, text);
    free(order);
    return status;
}

/* ---- cups ---- */

static shot_status write_test(const struct compare_settings *s, const tasting *t, size_t number,
                              const size_t *cup, const size_t *code, shot_text *text) {
    SHOT_TRY(shot_text_add_format(text, "%zu", number + 1));
    for (size_t i = 0; i < t->cups; i++)
        SHOT_TRY(shot_text_add_format(text, ",%zu", code[i] + FIRST_CODE));
    for (size_t i = 0; i < t->cups; i++) {
        SHOT_TRY(shot_text_add(text, ","));
        SHOT_TRY(shot_text_add_csv(text, s->order.items[cup[i]]));
    }
    for (size_t i = 0; t->odd && i < MOST_CUPS; i++)
        if (cup[i] != cup[(i + 1) % MOST_CUPS] && cup[i] != cup[(i + 2) % MOST_CUPS])
            SHOT_TRY(shot_text_add_format(text, ",%zu", code[i] + FIRST_CODE));
    return shot_text_add(text, "\n");
}

/* How many right answers it takes, and what that many tests can show. */
static shot_status write_needed(const struct compare_settings *s, const tasting *t, size_t count,
                                shot_text *text) {
    const double alpha = 1 - s->level, each_side = alpha / t->sides;
    const size_t needed = shot_forced_choice_needed(count, t->guess, each_side);
    if (needed > count)
        return shot_text_add_format(text, "# so few cannot show anything, whatever the answers\n");
    SHOT_TRY(shot_text_add_format(text, "# %zu%s of %zu %s (at %g %%)\n", needed, t->answers, count,
                                  t->show, 100 * alpha));
    return shot_text_add_format(
        text,
        "# who tells the cups apart in half of the tests gets there in %.0f of 100 tastings\n",
        100 * shot_forced_choice_power(count, t->guess, each_side, 0.5));
}

static shot_status write_head(const tasting *t, shot_text *text) {
    SHOT_TRY(shot_text_add(text, t->title));
    for (size_t i = 0; i < t->cups; i++)
        SHOT_TRY(shot_text_add_format(text, ",cup %zu", i + 1));
    for (size_t i = 0; i < t->cups; i++)
        SHOT_TRY(shot_text_add_format(text, ",in %zu", i + 1));
    return shot_text_add(text, t->odd ? ",odd\n" : "\n");
}

static shot_status write_cups(const struct compare_settings *s, const tasting *t, size_t count,
                              shot_random *random, shot_text *text) {
    size_t code[MOST_CODES], kind[MOST_KINDS] = {0, 1, 2, 3, 4, 5};
    for (size_t i = 0; i < MOST_CODES; i++)
        code[i] = i;
    shot_shuffle(code, MOST_CODES, random);
    SHOT_TRY(write_needed(s, t, count, text));
    SHOT_TRY(write_head(t, text));
    for (size_t i = 0; i < count; i++) {
        if (i % t->kinds == 0)
            shot_shuffle(kind, t->kinds, random);
        SHOT_TRY(write_test(s, t, i, t->cup[kind[i % t->kinds]], code + t->cups * i, text));
    }
    return SHOT_OK;
}

static shot_status write_answers(const struct compare_settings *s, shot_text *text) {
    const char *const labels[] = {s->order.items[0], s->order.items[1]};
    const size_t start = text->length;
    bool preferred;
    SHOT_TRY(shot_compare_write_taste(s, labels, text, &preferred));
    shot_words_make_plain(text, start);
    return SHOT_OK;
}

shot_status shot_compare_write_order(const struct compare_settings *s, shot_text *text) {
    shot_random random = shot_random_at((uint64_t)s->seed, 0);
    size_t count;
    if (shot_compare_is_answered(s))
        return write_answers(s, text);
    if (s->triangles != NULL && read_tests(s->triangles, &triangle, &count))
        return write_cups(s, &triangle, count, &random, text);
    if (s->pairs != NULL && read_tests(s->pairs, &pair_of_cups, &count))
        return write_cups(s, &pair_of_cups, count, &random, text);
    return write_shots(s, &random, text);
}
