/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which shots of two groups do not belong to their own: one of them may hide a difference that all
 * the others show, since it widens the interval. */
#include "judge/compare_parts.h"

#include <stdlib.h>

#include <shottrace/signal/multiplicity.h>
#include <shottrace/signal/outlier.h>

#include "judge/words.h"

/* The shot furthest from its group in one measure. */
typedef struct odd_shot {
    const shot_compare_row *row;
    size_t shot;
} odd_shot;

typedef struct odd_list {
    const shot_compare_result *result;
    odd_shot *odd; /* [count] */
    double *p;     /* corrected for their number [count] */
    size_t count;
    double *values; /* of one group [shots] */
    size_t *shots;  /* which they are [shots] */
} odd_list;

static void look(odd_list *list, const shot_compare_row *row, size_t group) {
    const shot_measure_table *table = &list->result->groups.table;
    size_t count = 0;
    for (size_t i = 0; i < table->shot_count; i++)
        if (table->shots[i].group == group) {
            list->shots[count] = i;
            list->values[count++] = shot_measure_table_value(table, i, row->column);
        }
    shot_outlier found;
    if (shot_moments_find(list->values, count).n < shot_contrast_usual_rules.least ||
        shot_outlier_grubbs(list->values, count, &found) != SHOT_OK)
        return;
    list->odd[list->count] = (odd_shot){row, list->shots[found.index]};
    list->p[list->count++] = found.p;
}

/* Of what was tested; what is counted is far from normal. */
static void look_at_all(odd_list *list, size_t a, size_t b) {
    for (size_t i = 0; i < list->result->row_count; i++) {
        const shot_compare_row *row = &list->result->rows[i];
        if (row->a != a || row->b != b || row->contrast.method == SHOT_CONTRAST_NONE ||
            shot_compare_is_count(shot_compare_column_of(list->result, row)->name))
            continue;
        look(list, row, a);
        look(list, row, b);
    }
}

static shot_status say_odd(shot_text *words, const void *user, size_t i) {
    const odd_list *list = user;
    if (!(list->p[i] <= 1 - list->result->settings->level))
        return SHOT_OK;
    return shot_text_add_format(words, "%s ('%s')",
                                shot_compare_column_of(list->result, list->odd[i].row)->label,
                                list->result->groups.table.shots[list->odd[i].shot].name);
}

static shot_status write_list(odd_list *list, shot_text *text) {
    size_t found = 0;
    SHOT_TRY(shot_multiplicity_holm(list->p, list->count, list->p));
    SHOT_TRY(shot_words_list(
        text, "An odd one out of its group in: ", (shot_words_items){list->count, say_odd, list},
        &found, COMPARE_INDENT, COMPARE_HANG));
    return found == 0 ? SHOT_OK
                      : shot_words_paragraph(text,
                                             "It widens the interval and may hide a difference: "
                                             "look at that shot before you pull more.",
                                             COMPARE_HANG, COMPARE_HANG);
}

shot_status shot_compare_write_odd(const shot_compare_result *result, size_t a, size_t b,
                                   shot_text *text) {
    const size_t shots = result->groups.table.shot_count + 1, most = 2 * result->row_count + 1;
    if (b == COMPARE_USUAL)
        return SHOT_OK;
    odd_list list = {.result = result,
                     .odd = malloc(most * sizeof *list.odd),
                     .p = malloc(most * sizeof *list.p),
                     .values = malloc(shots * sizeof *list.values),
                     .shots = malloc(shots * sizeof *list.shots)};
    shot_status status = SHOT_ERR_MEMORY;
    if (list.odd && list.p && list.values && list.shots) {
        look_at_all(&list, a, b);
        status = write_list(&list, text);
    }
    free(list.odd);
    free(list.p);
    free(list.values);
    free(list.shots);
    return status;
}
