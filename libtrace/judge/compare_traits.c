/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which shots of a comparison channelled, and which never dripped: questions that means do not
 * answer, since a shot without a first drop is no part of the mean of first drops. */
#include "judge/compare_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/fisher_exact.h>
#include <shottrace/signal/permutation.h>

#include "lack_of_memory.h"
#include "judge/words.h"

enum { MOST_NAMES = 8 };

/* 1: so, 0: not so, NaN: not known. */
static double has_channelled(const shot_measure_table *table, size_t shot) {
    const double surges = shot_compare_value(table, shot, "surge.count");
    return isnan(surges) ? NAN : surges >= 1;
}

/* It had its brew and a scale, and no drop. */
static double has_no_drop(const shot_measure_table *table, size_t shot) {
    const bool whole = !isnan(shot_compare_value(table, shot, "brew.time")) &&
                       !isnan(shot_compare_value(table, shot, "beverage.mass"));
    return whole ? isnan(shot_compare_value(table, shot, "first-drip.time")) : NAN;
}

static const struct trait {
    const char *title, *measure; /* told where this one was asked for */
    double (*of)(const shot_measure_table *table, size_t shot);
    bool also_none; /* told also where it is so of no shot */
} traits[] = {
    {"Channelled: ", "surge.count", has_channelled, true},
    {"No first drop: ", "first-drip.time", has_no_drop, false},
};

static double trait_in(const shot_compare_result *result, const struct trait *trait, size_t group,
                       size_t shot) {
    const shot_measure_table *table = &result->groups.table;
    return table->shots[shot].group == group ? trait->of(table, shot) : NAN;
}

enum { ALL_BLOCKS = -1 };

static shot_compare_share count_in(const shot_compare_result *result, const struct trait *trait,
                                   size_t group, size_t block) {
    shot_compare_share c = {0, 0};
    for (size_t i = 0; i < result->groups.table.shot_count; i++) {
        if (block != (size_t)ALL_BLOCKS && result->groups.block[i] != block)
            continue;
        const double is = trait_in(result, trait, group, i);
        c.shots += !isnan(is);
        c.hits += is == 1;
    }
    return c;
}

static void add_share(shot_compare_share *sum, shot_compare_share c) {
    sum->shots += c.shots;
    sum->hits += c.hits;
}

/* In either group; of pairs the shots of those alone that tell on both sides. */
static void count_both(const shot_compare_result *result, const struct trait *trait, size_t a,
                       size_t b, shot_compare_share *in_a, shot_compare_share *in_b) {
    const shot_compare_groups *groups = &result->groups;
    *in_a = *in_b = (shot_compare_share){0, 0};
    for (size_t k = 0; groups->block != NULL && k < groups->blocks; k++) {
        const shot_compare_share of_a = count_in(result, trait, a, k),
                                 of_b = count_in(result, trait, b, k);
        if (of_a.shots == 0 || of_b.shots == 0)
            continue;
        add_share(in_a, of_a);
        add_share(in_b, of_b);
    }
    if (groups->block != NULL)
        return;
    *in_a = count_in(result, trait, a, (size_t)ALL_BLOCKS);
    *in_b = count_in(result, trait, b, (size_t)ALL_BLOCKS);
}

/* "'four', 'eight' and 3 more (5 of 10 shots)", or "none of 10 shots". */
static shot_status say_which(shot_text *words, const shot_compare_result *result,
                             const struct trait *trait, size_t group, shot_compare_share c) {
    size_t said = 0;
    if (c.hits == 0)
        SHOT_TRY(shot_text_add(words, "none of "));
    for (size_t i = 0; i < result->groups.table.shot_count && said < MOST_NAMES; i++)
        if (trait_in(result, trait, group, i) == 1)
            SHOT_TRY(shot_text_add_format(words, "%s'%s'", said++ > 0 ? ", " : "",
                                          result->groups.table.shots[i].name));
    if (c.hits > said)
        SHOT_TRY(shot_text_add_format(words, " and %zu more", c.hits - said));
    if (c.hits > 0)
        SHOT_TRY(shot_text_add_format(words, " (%zu of ", c.hits));
    SHOT_TRY(shot_words_count(words, c.shots, "shot"));
    return shot_text_add(words, c.hits > 0 ? ")" : "");
}

static shot_status say_how_many(shot_text *words, const shot_compare_result *result, size_t group,
                                shot_compare_share c) {
    const char *by = group != COMPARE_USUAL ? result->settings->by : NULL;
    return shot_text_add_format(words, "%zu of %zu in %s%s%s", c.hits, c.shots,
                                by != NULL ? by : "", by != NULL ? " " : "",
                                shot_compare_label_of(result, group));
}

/* The share of a block's shots in the group of which it is so; NaN of none. */
static double share_in(const shot_compare_result *result, const struct trait *trait, size_t group,
                       size_t block) {
    const shot_compare_share c = count_in(result, trait, group, block);
    return (double)c.hits / (double)c.shots;
}

/* The shots of a block are no news of their own: all changes of sign of the pairs' differences. */
static shot_status find_chance_of_pairs(const shot_compare_result *result,
                                        const struct trait *trait, size_t a, size_t b, double *p) {
    const size_t blocks = result->groups.blocks;
    double *difference = malloc((blocks + 1) * sizeof *difference);
    if (difference == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t k = 0; k < blocks; k++)
        difference[k] = share_in(result, trait, a, k) - share_in(result, trait, b, k);
    shot_permutation signs;
    const shot_status status =
        shot_permutation_sign_flip(difference, blocks, &shot_permutation_usual, &signs);
    free(difference);
    if (status == SHOT_OK)
        *p = signs.p;
    return lack_of_memory_only(status);
}

/* That so uneven a split comes by itself; NaN where nothing tells. */
static shot_status find_chance(const shot_compare_result *result, const struct trait *trait,
                               size_t a, shot_compare_share in_a, size_t b, shot_compare_share in_b,
                               double *p) {
    *p = NAN;
    if (in_a.hits + in_b.hits == 0)
        return SHOT_OK;
    if (result->groups.block != NULL)
        return find_chance_of_pairs(result, trait, a, b, p);
    return lack_of_memory_only(shot_fisher_exact(in_a.hits, in_a.shots, in_b.hits, in_b.shots, p));
}

static shot_status say_both(shot_text *words, const shot_compare_result *result,
                            const struct trait *trait, size_t a, shot_compare_share in_a, size_t b,
                            shot_compare_share in_b) {
    double p;
    SHOT_TRY(say_how_many(words, result, a, in_a));
    SHOT_TRY(shot_text_add(words, ", "));
    SHOT_TRY(say_how_many(words, result, b, in_b));
    SHOT_TRY(find_chance(result, trait, a, in_a, b, in_b, &p));
    if (isnan(p))
        return SHOT_OK;
    SHOT_TRY(shot_text_add(words, "; by chance alone "));
    SHOT_TRY(shot_words_p(words, p));
    return shot_text_add_format(words, " (%s, for itself)",
                                result->groups.block != NULL ? "pairs" : "Fisher");
}

static bool is_asked_for(const shot_compare_result *result, size_t column) {
    for (size_t i = 0; i < result->row_count; i++)
        if (result->rows[i].column == column)
            return true;
    for (size_t i = 0; i < result->series_count; i++)
        if (result->series[i].column == column)
            return true;
    return false;
}

static shot_status write_trait(const shot_compare_result *result, const struct trait *trait,
                               size_t a, size_t b, shot_text *text, size_t *found) {
    size_t column;
    shot_text words = {0};
    if (!shot_measure_table_find(&result->groups.table, trait->measure, &column) ||
        !is_asked_for(result, column))
        return SHOT_OK;
    shot_compare_share in_a, in_b;
    count_both(result, trait, a, b, &in_a, &in_b);
    if (in_a.shots == 0 || in_b.shots == 0 || (!trait->also_none && in_a.hits + in_b.hits == 0))
        return SHOT_OK;
    *found += in_a.hits;
    shot_status status = shot_text_add(&words, trait->title);
    if (status == SHOT_OK)
        status = a == b ? say_which(&words, result, trait, a, in_a)
                        : say_both(&words, result, trait, a, in_a, b, in_b);
    if (status == SHOT_OK)
        status = shot_text_add(&words, ".");
    return shot_words_take_paragraph(text, &words, status, COMPARE_INDENT, COMPARE_HANG);
}

shot_status shot_compare_write_traits(const shot_compare_result *result, size_t a, size_t b,
                                      shot_text *text, size_t *found) {
    for (size_t i = 0; i < sizeof traits / sizeof *traits; i++)
        SHOT_TRY(write_trait(result, &traits[i], a, b, text, found));
    return SHOT_OK;
}
