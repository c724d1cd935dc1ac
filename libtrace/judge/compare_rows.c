/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Every measure in every pair of groups, with p values corrected for their number. */
#include "judge/compare_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/judge/measure.h>
#include <shottrace/signal/multiplicity.h>

#include "lack_of_memory.h"
#include "signal/missing.h"

/* ---- which measures ---- */

static bool in_list(const shot_texts *list, const char *name) {
    for (size_t i = 0; i < list->count; i++)
        if (strcmp(list->items[i], name) == 0)
            return true;
    return false;
}

/* Make sure that there is a column of that name: a measure, or a metadata key that is a number. */
static shot_status need_column(shot_measure_table *table, const char *name, shot_error *error) {
    size_t column;
    if (shot_measure_table_find(table, name, &column))
        return SHOT_OK;
    SHOT_TRY(shot_measure_table_add_key(table, name, error));
    if (shot_measure_table_find(table, name, &column))
        return SHOT_OK;
    if (shot_measure_kind_named(name) != NULL)
        return shot_fail(error, SHOT_ERR_DATA,
                         "no shot has the measure '%s'; put the filters that find it before "
                         "shot-compare (shot-segment, shot-surges, ...), or what a person knows "
                         "onto the shots (shot-tag --set)",
                         name);
    return shot_measure_unknown(name, error);
}

shot_status shot_compare_need_columns(shot_compare_result *result, shot_error *error) {
    const struct compare_settings *s = result->settings;
    if (s->primary != NULL)
        SHOT_TRY(need_column(&result->groups.table, s->primary, error));
    for (size_t i = 0; i < s->measures.count; i++)
        SHOT_TRY(need_column(&result->groups.table, s->measures.items[i], error));
    return shot_measure_table_sort(&result->groups.table);
}

bool shot_compare_is_primary(const shot_compare_result *result, const char *name) {
    return result->settings->primary != NULL && strcmp(result->settings->primary, name) == 0;
}

/* What made the groups differs between them by itself, and what made the pairs not at all. */
static bool is_asked_for(const shot_compare_result *result, const char *name) {
    const shot_texts *measures = &result->settings->measures;
    if (in_list(measures, name) || shot_compare_is_primary(result, name))
        return true;
    const char *by = result->settings->by, *within = result->settings->within;
    return measures->count == 0 && !shot_measure_is_clock(name) &&
           !(by != NULL && strcmp(by, name) == 0) && !(within != NULL && strcmp(within, name) == 0);
}

/* ---- one row ---- */

struct scratch {
    double *values, *places; /* [shots] */
    size_t *day, *block;
};

/* Values of one group in the order of its shots, their places, days and blocks, from `first` on. */
static size_t gather(const shot_compare_groups *groups, size_t column, size_t group, size_t first,
                     struct scratch *room) {
    size_t count = first;
    for (size_t i = 0; i < groups->table.shot_count; i++)
        if (groups->table.shots[i].group == group) {
            room->places[count] = (double)groups->place[i];
            room->day[count] = groups->day[i];
            room->block[count] = groups->block != NULL ? groups->block[i] : 0;
            room->values[count++] = shot_measure_table_value(&groups->table, i, column);
        }
    return count - first;
}

/* The slope within the groups of each day, or within the sides of each block, since blocks that lie
 * apart look like a drift; turns the days into labels. */
static shot_status find_drift(shot_compare_row *row, const struct scratch *room, bool blocks,
                              size_t n, size_t m) {
    for (size_t i = 0; i < n + m; i++)
        room->day[i] = 2 * (blocks ? room->block[i] : room->day[i]) + (i < n);
    shot_slope drift;
    const shot_status status =
        shot_trend_slope(room->places, room->values, room->day, n + m, 0.95, &drift);
    if (status == SHOT_OK)
        row->drift = drift;
    return lack_of_memory_only(status);
}

static shot_contrast_rules rules_for(const shot_compare_result *result, size_t column,
                                     double margin, bool against_usual, struct scratch *room) {
    shot_contrast_rules rules = shot_contrast_usual_rules;
    rules.level = result->settings->level;
    rules.alpha = 1 - rules.level;
    rules.power = result->settings->power;
    rules.margin = margin;
    rules.against_usual = against_usual;
    rules.counted = shot_compare_is_count(result->groups.table.columns[column].name);
    if (!against_usual) {
        size_t n = gather(&result->groups, column, COMPARE_USUAL, 0, room);
        shot_moments usual = shot_moments_find(room->values, n);
        if (usual.n >= rules.least) {
            rules.usual_sd = usual.sd;
            rules.usual_df = (double)usual.n - 1;
        }
    }
    return rules;
}

/* The pairs that have the measure on either side: what a look counts with --within. */
static shot_status count_pairs(const struct scratch *room, size_t n, size_t m, size_t blocks,
                               size_t *pairs) {
    bool *there = calloc(2 * blocks + 1, sizeof *there);
    if (there == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < n + m; i++)
        if (!isnan(room->values[i]))
            there[2 * room->block[i] + (i < n)] = true;
    *pairs = 0;
    for (size_t block = 0; block < blocks; block++)
        *pairs += there[2 * block] && there[2 * block + 1];
    free(there);
    return SHOT_OK;
}

/* Which of the planned looks at the measure named beforehand this is. */
static shot_status find_look(const shot_compare_result *result, const struct scratch *room,
                             size_t n, size_t m, shot_compare_look *look, shot_error *error) {
    size_t first = n - count_missing(room->values, n),
           second = m - count_missing(room->values + n, m);
    if (result->groups.block != NULL) {
        SHOT_TRY(count_pairs(room, n, m, result->groups.blocks, &first));
        second = first;
    }
    return shot_compare_find_look(result->settings, first, second, look, error);
}

static shot_status find_row(shot_compare_result *result, shot_compare_row *row,
                            struct scratch *room, shot_error *error) {
    const shot_measure_column *column = &result->groups.table.columns[row->column];
    bool against_usual = row->b == COMPARE_USUAL;
    row->primary = shot_compare_is_primary(result, column->name);
    SHOT_TRY(shot_compare_find_margin(result, column, &row->margin, error));
    const bool ordered = !against_usual && shot_compare_order_is_known(result);
    shot_contrast_rules rules = rules_for(result, row->column, row->margin, against_usual, room);
    size_t n = gather(&result->groups, row->column, row->a, 0, room);
    size_t m = gather(&result->groups, row->column, row->b, n, room);
    if (shot_compare_order_is_known(result)) {
        rules.day = room->day;
        rules.days = result->groups.days;
    }
    if (ordered)
        rules.order = room->places;
    if (result->groups.block != NULL) {
        rules.block = room->block;
        rules.blocks = result->groups.blocks;
    }
    if (row->primary)
        SHOT_TRY(find_look(result, room, n, m, &row->look, error));
    rules.alpha_now = row->look.different;
    rules.alpha_same_now = row->look.same;
    SHOT_TRY(shot_contrast_find(room->values, n, room->values + n, m, &rules, &row->contrast));
    SHOT_TRY(shot_compare_find_scatter(result, room->values, room->day, room->block, n, m, row));
    row->p = row->contrast.test.p;
    row->p_same = row->contrast.p_same;
    row->drift = (shot_slope){NAN, NAN, NAN, NAN, NAN, NAN, NAN};
    if (ordered)
        SHOT_TRY(find_drift(row, room, rules.block != NULL, n, m));
    row->p_drift = row->drift.p;
    return SHOT_OK;
}

/* ---- correction for the number of tests ---- */

enum family { DIFFERENCES, EQUIVALENCES, DRIFTS };

static double *p_of(shot_compare_row *row, enum family family) {
    return family == DIFFERENCES ? &row->p : family == EQUIVALENCES ? &row->p_same : &row->p_drift;
}

/* Holm's correction over the rows of one kind: the primary measure's apart from all others; drifts
 * all together. */
static shot_status correct(shot_compare_result *result, enum family family, bool primary) {
    double *p = malloc((result->row_count + 1) * sizeof *p);
    if (p == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < result->row_count; i++) {
        bool member = family == DRIFTS || result->rows[i].primary == primary;
        p[i] = member ? *p_of(&result->rows[i], family) : NAN;
    }
    shot_status status = shot_multiplicity_holm(p, result->row_count, p);
    for (size_t i = 0; i < result->row_count && status == SHOT_OK; i++)
        if (!isnan(p[i]))
            *p_of(&result->rows[i], family) = p[i];
    free(p);
    return status;
}

/* Of m tests of which Holm's correction rejects the first r, the next was held against
 * alpha / (m - r) and stood; all those rejected have p values below that, all others above.  So a
 * value lies outside the range of this level where, and only where, it is called unusual. */
static double level_of_all(const shot_compare_result *result) {
    const double alpha = 1 - result->settings->level;
    size_t rejected = 0;
    for (size_t i = 0; i < result->row_count; i++)
        rejected += !result->rows[i].primary && result->rows[i].p <= alpha;
    return 1 - alpha / (double)(result->tests > rejected ? result->tests - rejected : 1);
}

static shot_status judge(shot_compare_result *result) {
    for (int primary = 0; primary < 2; primary++) {
        SHOT_TRY(correct(result, DIFFERENCES, primary));
        SHOT_TRY(correct(result, EQUIVALENCES, primary));
    }
    SHOT_TRY(correct(result, DRIFTS, false));
    shot_contrast_rules rules = shot_contrast_usual_rules;
    rules.alpha = 1 - result->settings->level;
    for (size_t i = 0; i < result->row_count; i++) {
        shot_compare_row *row = &result->rows[i];
        rules.alpha_now = row->look.different;
        rules.alpha_same_now = row->look.same;
        if (i == 0 || row->a != row[-1].a || row->b != row[-1].b)
            SHOT_TRY(shot_compare_is_apart(result, row->a, row->b, &rules.apart));
        shot_contrast_judge(&row->contrast, &rules, row->p, row->p_same);
        result->tests += !row->primary && row->contrast.method != SHOT_CONTRAST_NONE;
    }
    result->together = level_of_all(result);
    return SHOT_OK;
}

/* ---- all rows ---- */

static shot_status fill_rows(shot_compare_result *result, size_t a, size_t b, struct scratch *room,
                             shot_error *error) {
    const shot_measure_table *table = &result->groups.table;
    for (size_t c = 0; c < table->column_count; c++) {
        if (!is_asked_for(result, table->columns[c].name))
            continue;
        shot_compare_row *row = &result->rows[result->row_count++];
        *row = (shot_compare_row){.column = c, .a = a, .b = b};
        SHOT_TRY(find_row(result, row, room, error));
    }
    return SHOT_OK;
}

/* Two groups: the first against the second.  One: against the usual shots.  More: each later one
 * against the first. */
static shot_status fill_pairs(shot_compare_result *result, struct scratch *room,
                              shot_error *error) {
    size_t count = result->groups.count;
    if (count == 1)
        return fill_rows(result, 0, COMPARE_USUAL, room, error);
    if (result->settings->by == NULL)
        return fill_rows(result, 0, 1, room, error);
    for (size_t g = 1; g < count; g++)
        SHOT_TRY(fill_rows(result, g, 0, room, error));
    return SHOT_OK;
}

shot_status shot_compare_find_rows(shot_compare_result *result, shot_error *error) {
    SHOT_TRY(shot_compare_need_columns(result, error));
    SHOT_TRY(shot_compare_check_margins(result, error));
    size_t shots = result->groups.table.shot_count + 1, columns = result->groups.table.column_count;
    struct scratch room = {malloc(shots * sizeof(double)), malloc(shots * sizeof(double)),
                           malloc(shots * sizeof(size_t)), malloc(shots * sizeof(size_t))};
    result->rows = calloc(columns * result->groups.count + 1, sizeof *result->rows);
    shot_status status = room.values && room.places && room.day && room.block && result->rows
                             ? SHOT_OK
                             : SHOT_ERR_MEMORY;
    if (status == SHOT_OK)
        status = fill_pairs(result, &room, error);
    free(room.values);
    free(room.places);
    free(room.day);
    free(room.block);
    return status == SHOT_OK ? judge(result) : status;
}

void shot_compare_result_free(shot_compare_result *result) {
    for (size_t i = 0; i < result->series_count; i++) {
        free(result->series[i].values);
        free(result->series[i].shots);
    }
    free(result->series);
    free(result->rows);
    shot_compare_groups_free(&result->groups);
}
