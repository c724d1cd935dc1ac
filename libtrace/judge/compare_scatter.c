/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which of two groups scatters less: the steadier hand, or machine. */
#include "judge/compare_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/resolution.h>

#include "judge/words.h"
#include "lack_of_memory.h"

shot_status shot_compare_find_rounding(const shot_measure_table *table, size_t column,
                                       double *out) {
    double *values = malloc((table->shot_count + 1) * sizeof *values);
    if (values == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < table->shot_count; i++)
        values[i] = shot_measure_table_value(table, i, column);
    const double step = shot_resolution(values, table->shot_count);
    free(values);
    *out = step * step / 12;
    return SHOT_OK;
}

/* ---- days ---- */

typedef struct scatter_day {
    double n, mean;
} scatter_day;

/* Days that lie apart are no scatter of a hand: of a group of several days each value less the mean
 * of those before it on its day, stretched to the scatter of one; the first of a day says nothing
 * (recursive residuals: Brown, Durbin & Evans 1975, J. R. Stat. Soc. B 37:149-192).
 *   room  [days] */
static void take_out_days(const double *values, const size_t *day, size_t n, scatter_day *room,
                          double *out) {
    for (size_t i = 0; i < n; i++) {
        scatter_day *of = &room[day[i]];
        out[i] = NAN;
        if (isnan(values[i]))
            continue;
        const double step = values[i] - of->mean;
        if (of->n > 0)
            out[i] = step * sqrt(of->n / (of->n + 1));
        of->mean += step / ++of->n;
    }
}

/* The values of one group as its scatter is told from, which of one day alone are the values. */
static shot_status take_group(const shot_compare_groups *groups, size_t group, const double *values,
                              const size_t *day, size_t n, double *out) {
    if (shot_compare_is_of_one_day(groups, group)) {
        memcpy(out, values, n * sizeof *out);
        return SHOT_OK;
    }
    scatter_day *room = calloc(groups->days + 1, sizeof *room);
    if (room == NULL)
        return SHOT_ERR_MEMORY;
    take_out_days(values, day, n, room, out);
    free(room);
    return SHOT_OK;
}

/* ---- the ratio ---- */

/* The values of a row's groups, and what is asked of them. */
typedef struct scatter_question {
    const double *values;
    const size_t *block; /* NULL: none */
    size_t blocks, n, m;
    double rounding;
} scatter_question;

static shot_status find_within(const scatter_question *q, double level, shot_scatter_ratio *out) {
    bool *second = malloc((q->n + q->m + 1) * sizeof *second);
    if (second == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < q->n + q->m; i++)
        second[i] = i >= q->n;
    const shot_status status = shot_scatter_ratio_within(q->values, second, q->block, q->blocks,
                                                         q->n + q->m, q->rounding, level, out);
    free(second);
    return status;
}

/* Untouched where nothing is known. */
static shot_status find(const scatter_question *q, double level, shot_scatter_ratio *out) {
    return lack_of_memory_only(q->block != NULL
                                   ? find_within(q, level, out)
                                   : shot_scatter_ratio_find(q->values, q->n, q->values + q->n,
                                                             q->m, q->rounding, level, out));
}

/* How many pairs of groups the measure is looked at in. */
static double count_pairs_of_groups(const shot_compare_result *result) {
    const size_t groups = result->groups.count;
    return result->settings->by != NULL && groups > 2 ? (double)(groups - 1) : 1;
}

/* At the level of the row, and for the claim at that of all pairs of groups. */
static shot_status find_both(const shot_compare_result *result, const scatter_question *q,
                             shot_compare_row *row) {
    const double alpha = row->look.count > 0 ? row->look.different : 1 - result->settings->level;
    shot_scatter_ratio strict = {NAN, NAN, NAN, 0};
    SHOT_TRY(find(q, 1 - alpha, &row->scatter));
    SHOT_TRY(find(q, 1 - alpha / count_pairs_of_groups(result), &strict));
    row->steadier = strict.low > 1 || strict.high < 1;
    return SHOT_OK;
}

/* Without blocks. */
static shot_status find_within_days(const shot_compare_result *result, scatter_question q,
                                    const size_t *day, shot_compare_row *row) {
    const shot_compare_groups *groups = &result->groups;
    double *room = malloc((q.n + q.m + 1) * sizeof *room);
    if (room == NULL)
        return SHOT_ERR_MEMORY;
    shot_status status = take_group(groups, row->a, q.values, day, q.n, room);
    if (status == SHOT_OK)
        status = take_group(groups, row->b, q.values + q.n, day + q.n, q.m, room + q.n);
    q.values = room;
    if (status == SHOT_OK)
        status = find_both(result, &q, row);
    row->scatter_in_days =
        !shot_compare_is_of_one_day(groups, row->a) || !shot_compare_is_of_one_day(groups, row->b);
    free(room);
    return status;
}

shot_status shot_compare_find_scatter(const shot_compare_result *result, const double *values,
                                      const size_t *day, const size_t *block, size_t n, size_t m,
                                      shot_compare_row *row) {
    const shot_compare_groups *groups = &result->groups;
    scatter_question q = {values, groups->block != NULL ? block : NULL, groups->blocks, n, m, 0};
    row->scatter = (shot_scatter_ratio){NAN, NAN, NAN, 0};
    if (row->contrast.method == SHOT_CONTRAST_NONE ||
        shot_compare_is_count(shot_compare_column_of(result, row)->name))
        return SHOT_OK;
    SHOT_TRY(shot_compare_find_rounding(&groups->table, row->column, &q.rounding));
    return q.block != NULL ? find_both(result, &q, row) : find_within_days(result, q, day, row);
}

/* ---- words ---- */

enum { DECIMALS = 2 };

shot_status shot_compare_say_scatter(shot_text *words, const shot_compare_result *result,
                                     const shot_compare_row *row) {
    const shot_scatter_ratio *s = &row->scatter;
    SHOT_TRY(shot_words_number(words, s->ratio, DECIMALS));
    SHOT_TRY(shot_text_add_format(words, " times that of %s, %g %% interval ",
                                  shot_compare_label_of(result, row->b),
                                  100 * result->settings->level));
    SHOT_TRY(shot_text_add(words, row->look.count > 0 ? "over all looks " : ""));
    SHOT_TRY(shot_words_range(words, s->low, s->high, DECIMALS));
    if (s->blocks > 0)
        return shot_text_add_format(words, ", within %zu pairs", s->blocks);
    return row->scatter_in_days ? shot_text_add(words, ", within days") : SHOT_OK;
}

shot_status shot_compare_say_steadier(shot_text *words, const shot_compare_result *result,
                                      const shot_compare_row *row) {
    const shot_scatter_ratio *s = &row->scatter;
    const bool first = s->ratio < 1;
    const char *by = result->settings->by;
    SHOT_TRY(shot_text_add_format(words, "Steadier in %s%s%s: %s, ", by != NULL ? by : "",
                                  by != NULL ? " " : "",
                                  shot_compare_label_of(result, first ? row->a : row->b),
                                  shot_compare_column_of(result, row)->label));
    SHOT_TRY(shot_words_number(words, first ? s->ratio : 1 / s->ratio, DECIMALS));
    SHOT_TRY(shot_text_add_format(words, " times the scatter of %s (",
                                  shot_compare_label_of(result, first ? row->b : row->a)));
    SHOT_TRY(shot_words_range(words, first ? s->low : 1 / s->high, first ? s->high : 1 / s->low,
                              DECIMALS));
    return shot_text_add(words, ").");
}
