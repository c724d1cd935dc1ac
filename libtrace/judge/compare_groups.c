/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which shot belongs where, and in which order they were pulled. */
#include "judge/compare_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/rank_test.h>
#include <shottrace/trace/number_text.h>
#include <shottrace/trace/stage.h>

/* ---- labels ---- */

shot_status shot_compare_label(shot_compare_groups *groups, const char *label) {
    char **labels = realloc(groups->labels, (groups->count + 1) * sizeof *labels);
    if (labels == NULL)
        return SHOT_ERR_MEMORY;
    groups->labels = labels;
    labels[groups->count] = shot_text_copy(label);
    return labels[groups->count++] != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
}

/* The number that a label starts with, NaN if none: "2.2", "18 g". */
static double number_of(const char *label) {
    double value = NAN;
    shot_number_read(label, label + strlen(label), &value);
    return value;
}

bool shot_compare_same_label(const char *a, const char *b) {
    double x, y;
    const char *after_a = shot_number_read(a, a + strlen(a), &x);
    const char *after_b = shot_number_read(b, b + strlen(b), &y);
    if (after_a != NULL && after_b != NULL)
        return x == y &&
               strcmp(after_a + strspn(after_a, " "), after_b + strspn(after_b, " ")) == 0;
    return strcmp(a, b) == 0;
}

static bool find_label(const shot_compare_groups *groups, const char *label, size_t *group) {
    for (*group = 0; *group < groups->count; ++*group)
        if (shot_compare_same_label(groups->labels[*group], label))
            return true;
    return false;
}

static bool goes_before(const char *a, const char *b) {
    double x = number_of(a), y = number_of(b);
    return !isnan(x) && !isnan(y) && x < y;
}

/* Insertion sort: labels that are no numbers keep their order. */
static void sort_labels(shot_compare_groups *groups) {
    for (size_t i = 1; i < groups->count; i++)
        for (size_t k = i; k > 0 && goes_before(groups->labels[k], groups->labels[k - 1]); k--) {
            char *keep = groups->labels[k];
            groups->labels[k] = groups->labels[k - 1];
            groups->labels[k - 1] = keep;
        }
}

shot_status shot_compare_value_of_key(const shot_measure_table *table, size_t shot, const char *key,
                                      shot_text *value) {
    size_t column;
    const char *text = shot_measure_table_metadata(table, shot, key);
    shot_text_clear(value);
    if (text != NULL)
        return shot_text_add(value, text);
    if (shot_measure_table_find(table, key, &column))
        return shot_text_add_number(value, shot_measure_table_value(table, shot, column));
    return SHOT_OK;
}

bool shot_compare_has_key(const shot_measure_table *table, const char *key) {
    size_t column;
    if (shot_measure_table_find(table, key, &column))
        return true;
    for (size_t i = 0; i < table->shot_count; i++)
        if (shot_measure_table_metadata(table, i, key) != NULL)
            return true;
    return false;
}

static shot_status collect_labels(shot_compare_groups *groups, const char *key, shot_text *value) {
    for (size_t i = 0; i < groups->table.shot_count; i++) {
        size_t group;
        if (groups->table.shots[i].group != 0)
            continue;
        SHOT_TRY(shot_compare_value_of_key(&groups->table, i, key, value));
        if (value->length > 0 && !find_label(groups, value->bytes, &group))
            SHOT_TRY(shot_compare_label(groups, value->bytes));
    }
    sort_labels(groups);
    return SHOT_OK;
}

static shot_status assign(shot_compare_groups *groups, const char *key, shot_text *value,
                          size_t *left_out) {
    for (size_t i = 0; i < groups->table.shot_count; i++) {
        shot_measured *shot = &groups->table.shots[i];
        if (shot->group != 0)
            continue;
        SHOT_TRY(shot_compare_value_of_key(&groups->table, i, key, value));
        if (value->length == 0 || !find_label(groups, value->bytes, &shot->group)) {
            shot->group = COMPARE_LEFT_OUT;
            ++*left_out;
        }
    }
    return SHOT_OK;
}

shot_status shot_compare_group_by(shot_compare_groups *groups, const char *key,
                                  const shot_notice *notice) {
    shot_text value = {0};
    size_t left_out = 0;
    shot_status status = collect_labels(groups, key, &value);
    if (status == SHOT_OK)
        status = assign(groups, key, &value, &left_out);
    shot_text_free(&value);
    if (status == SHOT_OK && left_out > 0)
        shot_notice_say(notice, "%zu of the shots say%s nothing of '%s' and %s left out", left_out,
                        left_out == 1 ? "s" : "", key, left_out == 1 ? "is" : "are");
    return status;
}

/* ---- order ---- */

double shot_compare_value(const shot_measure_table *table, size_t shot, const char *measure) {
    size_t column;
    return shot_measure_table_find(table, measure, &column)
               ? shot_measure_table_value(table, shot, column)
               : NAN;
}

double shot_compare_clock(const shot_measure_table *table, size_t shot) {
    return shot_compare_value(table, shot, "pulled.clock");
}

/* s: a pause that ends a day, a night's or that between morning and evening (common practice, no
 * source). */
static const double pause_of_days = 6 * 3600;

struct start {
    double clock;
    size_t shot;
};

static int by_start(const void *a, const void *b) {
    const struct start *x = a, *y = b;
    if (x->clock != y->clock)
        return (x->clock > y->clock) - (x->clock < y->clock);
    return (x->shot > y->shot) - (x->shot < y->shot);
}

/* Shots that begin at one instant do not: somebody wrote down a day, or a file came twice.  Where
 * most are so, the clocks give no order. */
static bool are_told_apart(const struct start *starts, size_t count) {
    size_t instants = 1;
    for (size_t i = 1; i < count; i++)
        instants += starts[i].clock > starts[i - 1].clock;
    return 2 * instants > count;
}

/* By their clocks, where these tell; else as they were read. */
static bool sort_starts(struct start *starts, size_t count) {
    qsort(starts, count, sizeof *starts, by_start);
    if (are_told_apart(starts, count))
        return true;
    for (size_t i = 0; i < count; i++)
        starts[i].shot = i;
    return false;
}

shot_status shot_compare_find_order(shot_compare_groups *groups) {
    size_t count = groups->table.shot_count;
    struct start *starts = malloc((count + 1) * sizeof *starts);
    groups->place = malloc((count + 1) * sizeof *groups->place);
    groups->day = calloc(count + 1, sizeof *groups->day);
    if (starts == NULL || groups->place == NULL || groups->day == NULL) {
        free(starts);
        return SHOT_ERR_MEMORY;
    }
    groups->by_clock = count > 0;
    for (size_t i = 0; i < count; i++) {
        starts[i] = (struct start){shot_compare_clock(&groups->table, i), i};
        groups->by_clock = groups->by_clock && !isnan(starts[i].clock);
    }
    groups->by_clock = groups->by_clock && sort_starts(starts, count);
    groups->days = 1;
    for (size_t i = 0; i < count; i++) {
        groups->place[starts[i].shot] = i;
        if (groups->by_clock && i > 0 && starts[i].clock - starts[i - 1].clock >= pause_of_days)
            groups->days++;
        groups->day[starts[i].shot] = groups->days - 1;
    }
    free(starts);
    return SHOT_OK;
}

size_t shot_compare_group_size(const shot_compare_groups *groups, size_t group) {
    size_t size = 0;
    for (size_t i = 0; i < groups->table.shot_count; i++)
        size += groups->table.shots[i].group == group;
    return size;
}

static size_t places_of(const shot_compare_groups *groups, size_t group, double *places) {
    size_t count = 0;
    for (size_t i = 0; i < groups->table.shot_count; i++)
        if (groups->table.shots[i].group == group)
            places[count++] = (double)groups->place[i];
    return count;
}

/* All of one group before all of the other, or places that differ by a rank test at 5 %. */
shot_status shot_compare_in_blocks(const shot_compare_groups *groups, size_t a, size_t b,
                                   bool *blocks) {
    size_t count = groups->table.shot_count;
    double *places = malloc((2 * count + 1) * sizeof *places);
    shot_rank_test test;
    shot_status status = SHOT_OK;
    *blocks = false;
    if (places == NULL)
        return SHOT_ERR_MEMORY;
    size_t n = places_of(groups, a, places), m = places_of(groups, b, places + n);
    if (n >= 2 && m >= 2) {
        status = shot_rank_test_find(places, n, places + n, m, 0.95, &test);
        *blocks =
            status == SHOT_OK && (test.p <= 0.05 || test.w == 0 || test.w == (double)n * (double)m);
    }
    free(places);
    return status;
}

/* How many shots of either group a day has. */
struct day_count {
    double a, b;
};

/* True where there are several days, and most of what the groups tell of each other lies between
 * days that have more than one shot of a group. */
static shot_status days_apart(const shot_compare_groups *groups, size_t a, size_t b, bool *apart) {
    struct day_count *count = calloc(groups->days, sizeof *count);
    double within = 0, all_a = 0, all_b = 0;
    bool repeated = false;
    if (count == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < groups->table.shot_count; i++) {
        count[groups->day[i]].a += groups->table.shots[i].group == a;
        count[groups->day[i]].b += groups->table.shots[i].group == b;
    }
    for (size_t day = 0; day < groups->days; day++) {
        const struct day_count *c = &count[day];
        within += c->a * c->b > 0 ? c->a * c->b / (c->a + c->b) : 0;
        all_a += c->a;
        all_b += c->b;
        repeated = repeated || c->a > 1 || c->b > 1;
    }
    free(count);
    *apart = repeated && within < all_a * all_b / (all_a + all_b) / 2;
    return SHOT_OK;
}

bool shot_compare_order_is_known(const shot_compare_result *result) {
    return result->groups.by_clock || result->settings->by != NULL;
}

shot_status shot_compare_is_confounded(const shot_compare_result *result, size_t a, size_t b,
                                       bool *confounded) {
    const shot_compare_groups *groups = &result->groups;
    *confounded = false;
    if (b == COMPARE_USUAL || !shot_compare_order_is_known(result))
        return SHOT_OK;
    SHOT_TRY(shot_compare_in_blocks(groups, a, b, confounded));
    return *confounded ? SHOT_OK : days_apart(groups, a, b, confounded);
}

static bool has_day(const shot_compare_groups *groups, size_t group, size_t day) {
    for (size_t i = 0; i < groups->table.shot_count; i++)
        if (groups->table.shots[i].group == group && groups->day[i] == day)
            return true;
    return false;
}

/* True where a day has shots of both. */
static bool share_a_day(const shot_compare_groups *groups, size_t a, size_t b) {
    for (size_t i = 0; i < groups->table.shot_count; i++)
        if (groups->table.shots[i].group == a && has_day(groups, b, groups->day[i]))
            return true;
    return false;
}

bool shot_compare_is_of_one_day(const shot_compare_groups *groups, size_t group) {
    size_t first = groups->table.shot_count;
    for (size_t i = 0; i < groups->table.shot_count; i++) {
        if (groups->table.shots[i].group != group)
            continue;
        first = first < groups->table.shot_count ? first : i;
        if (groups->day[i] != groups->day[first])
            return false;
    }
    return true;
}

shot_status shot_compare_is_apart(const shot_compare_result *result, size_t a, size_t b,
                                  bool *apart) {
    if (b != COMPARE_USUAL)
        return shot_compare_is_confounded(result, a, b, apart);
    *apart = shot_compare_order_is_known(result) && !share_a_day(&result->groups, a, b);
    return SHOT_OK;
}

void shot_compare_groups_free(shot_compare_groups *groups) {
    for (size_t i = 0; i < groups->count; i++)
        free(groups->labels[i]);
    for (size_t b = 0; b < groups->blocks; b++)
        free(groups->block_names[b]);
    free(groups->labels);
    free(groups->block_names);
    free(groups->block);
    free(groups->place);
    free(groups->day);
    shot_measure_table_free(&groups->table);
}
