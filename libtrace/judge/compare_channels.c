/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which shots of a comparison channelled: the question that a mean number of surges does not
 * answer.
 */
#include "judge/compare_parts.h"

#include <math.h>
#include <string.h>

#include <shottrace/signal/fisher_exact.h>

#include "judge/words.h"

enum { MOST_NAMES = 8 };

/* Shots of a group of which surges are known, and those that have one. */
typedef struct channelled {
    size_t shots, hits;
} channelled;

static double surges_of(const shot_compare_result *result, size_t column, size_t group,
                        size_t shot) {
    const shot_measure_table *table = &result->groups.table;
    return table->shots[shot].group == group ? shot_measure_table_value(table, shot, column) : NAN;
}

static channelled count_in(const shot_compare_result *result, size_t column, size_t group) {
    channelled c = {0, 0};
    for (size_t i = 0; i < result->groups.table.shot_count; i++) {
        const double surges = surges_of(result, column, group, i);
        c.shots += !isnan(surges);
        c.hits += surges >= 1;
    }
    return c;
}

/* "'four', 'eight' and 3 more (5 of 10 shots)", or "none of 10 shots". */
static shot_status say_which(shot_text *words, const shot_compare_result *result, size_t column,
                             size_t group, channelled c) {
    size_t said = 0;
    if (c.hits == 0)
        SHOT_TRY(shot_text_add(words, "none of "));
    for (size_t i = 0; i < result->groups.table.shot_count && said < MOST_NAMES; i++)
        if (surges_of(result, column, group, i) >= 1)
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
                                channelled c) {
    const char *by = group != COMPARE_USUAL ? result->settings->by : NULL;
    return shot_text_add_format(words, "%zu of %zu in %s%s%s", c.hits, c.shots,
                                by != NULL ? by : "", by != NULL ? " " : "",
                                shot_compare_label_of(result, group));
}

static shot_status say_both(shot_text *words, const shot_compare_result *result, size_t a,
                            channelled in_a, size_t b, channelled in_b) {
    double p;
    SHOT_TRY(say_how_many(words, result, a, in_a));
    SHOT_TRY(shot_text_add(words, ", "));
    SHOT_TRY(say_how_many(words, result, b, in_b));
    if (in_a.hits + in_b.hits == 0 ||
        shot_fisher_exact(in_a.hits, in_a.shots, in_b.hits, in_b.shots, &p) != SHOT_OK)
        return SHOT_OK;
    SHOT_TRY(shot_text_add(words, "; by chance alone "));
    SHOT_TRY(shot_words_p(words, p));
    return shot_text_add(words, " (Fisher, for itself)");
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

shot_status shot_compare_write_channels(const shot_compare_result *result, size_t a, size_t b,
                                        shot_text *text, size_t *found) {
    size_t column;
    shot_text words = {0};
    if (!shot_measure_table_find(&result->groups.table, "surge.count", &column) ||
        !is_asked_for(result, column))
        return SHOT_OK;
    const channelled in_a = count_in(result, column, a), in_b = count_in(result, column, b);
    if (in_a.shots == 0 || in_b.shots == 0)
        return SHOT_OK;
    *found += in_a.hits;
    shot_status status = shot_text_add(&words, "Channelled: ");
    if (status == SHOT_OK)
        status = a == b ? say_which(&words, result, column, a, in_a)
                        : say_both(&words, result, a, in_a, b, in_b);
    if (status == SHOT_OK)
        status = shot_text_add(&words, ".");
    return shot_words_take_paragraph(text, &words, status, COMPARE_INDENT, COMPARE_HANG,
                                     COMPARE_WIDTH);
}
