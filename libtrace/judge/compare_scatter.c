/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which of two groups scatters less: the steadier hand, or machine. */
#include "judge/compare_parts.h"

#include <math.h>
#include <stdlib.h>

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

shot_status shot_compare_find_scatter(const shot_compare_result *result, const double *values,
                                      const size_t *block, size_t n, size_t m,
                                      shot_compare_row *row) {
    const shot_compare_groups *groups = &result->groups;
    scatter_question q = {values, groups->block != NULL ? block : NULL, groups->blocks, n, m, 0};
    shot_scatter_ratio strict = {NAN, NAN, NAN, 0};
    row->scatter = strict;
    if (row->contrast.method == SHOT_CONTRAST_NONE ||
        shot_compare_is_count(shot_compare_column_of(result, row)->name))
        return SHOT_OK;
    const double alpha = row->look.count > 0 ? row->look.different : 1 - result->settings->level;
    SHOT_TRY(shot_compare_find_rounding(&groups->table, row->column, &q.rounding));
    SHOT_TRY(find(&q, 1 - alpha, &row->scatter));
    SHOT_TRY(find(&q, 1 - alpha / count_pairs_of_groups(result), &strict));
    row->steadier = strict.low > 1 || strict.high < 1;
    return SHOT_OK;
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
    return s->blocks > 0 ? shot_text_add_format(words, ", within %zu pairs", s->blocks) : SHOT_OK;
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
