/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: many measures at once keep the chance of any false alarm at its level, groups are made
 * and ordered as the shots say, and drift is told from difference. */
#include <support/check.h>

#include <stdio.h>
#include <string.h>

#include <shottrace/signal/random.h>

#include "judge/compare_parts.h"

static struct compare_settings usual_settings(void) {
    return (struct compare_settings){.level = 0.95, .power = 0.8};
}

/* A result over `n` shots of each of two groups with `measures` measures of normal noise; the shots
 * of both groups alternate; every value of group 0 is raised by `shift`, and the k-th shot of all
 * by k times `drift`. */
static shot_compare_result simulated(const struct compare_settings *settings, size_t n,
                                     size_t measures, double shift, double drift, uint64_t seed) {
    shot_compare_result result = {.settings = settings};
    shot_measure_table *table = &result.groups.table;
    shot_random random = shot_random_at(seed, 0);
    assert_int_equal(shot_compare_label(&result.groups, "A"), SHOT_OK);
    assert_int_equal(shot_compare_label(&result.groups, "B"), SHOT_OK);
    for (size_t i = 0; i < 2 * n; i++) {
        assert_int_equal(shot_measure_table_add_shot(table, "s", i % 2), SHOT_OK);
        for (size_t m = 0; m < measures; m++) {
            char name[16];
            snprintf(name, sizeof name, "m%zu", m);
            double value =
                shot_random_normal(&random) + (i % 2 == 0 ? shift : 0) + drift * (double)i;
            assert_int_equal(shot_measure_table_set(table, i, name, NULL, "", value, NULL),
                             SHOT_OK);
        }
    }
    assert_int_equal(shot_compare_find_order(&result.groups), SHOT_OK);
    assert_int_equal(shot_compare_find_rows(&result, NULL), SHOT_OK);
    assert_int_equal(result.row_count, measures);
    return result;
}

static bool any_different(const shot_compare_result *result) {
    for (size_t i = 0; i < result->row_count; i++)
        if (result->rows[i].contrast.verdict == SHOT_VERDICT_DIFFERENT)
            return true;
    return false;
}

/* Twelve measures without a difference: in at most 5 % of the comparisons is any called different;
 * 500 of them, binomial error 0.0097, four allowed.  A difference of 3 scatters is still found. */
static void many_measures_raise_no_more_alarms_than_one(void **state) {
    enum { RUNS = 500 };
    const struct compare_settings settings = usual_settings();
    int alarms = 0, found = 0;
    for (uint64_t run = 0; run < RUNS; run++) {
        shot_compare_result none = simulated(&settings, 6, 12, 0, 0, run);
        alarms += any_different(&none);
        shot_compare_result_free(&none);
        if (run % 10 == 0) {
            shot_compare_result some = simulated(&settings, 6, 12, 3, 0, run);
            found += any_different(&some);
            shot_compare_result_free(&some);
        }
    }
    assert_true((double)alarms / RUNS <= 0.05 + 4 * sqrt(0.05 * 0.95 / RUNS));
    assert_true(found > 45);
}

/* A rare surge is no outlier of a normal distribution, and no shot has less than none. */
static void counts_have_no_limits_that_take_them_as_normal(void **state) {
    const struct compare_settings settings = usual_settings();
    shot_compare_result result = {.settings = &settings};
    shot_measure_table *table = &result.groups.table;
    assert_int_equal(shot_compare_label(&result.groups, "A"), SHOT_OK);
    for (size_t i = 0; i < 10; i++) {
        assert_int_equal(shot_measure_table_add_shot(table, "s", 0), SHOT_OK);
        assert_int_equal(
            shot_measure_table_set(table, i, "surge.count", NULL, "", i == 3 ? 1 : 0, NULL),
            SHOT_OK);
    }
    assert_int_equal(shot_compare_find_order(&result.groups), SHOT_OK);
    assert_int_equal(shot_compare_find_series(&result, NULL), SHOT_OK);
    const shot_compare_series *series = &result.series[0];
    assert_true(series->counted);
    assert_true(isnan(series->p_odd) && isnan(series->found.limits.high));
    assert_int_equal(series->found.outside, 0);
    shot_text page = {0};
    assert_int_equal(shot_compare_write_series_page(&result, &page), SHOT_OK);
    assert_non_null(strstr(page.bytes, "0.10 a shot"));
    assert_non_null(strstr(page.bytes, "from 0 to 1"));
    assert_null(strstr(page.bytes, "odd one"));
    shot_text_free(&page);
    shot_compare_result_free(&result);
}

/* The measure named beforehand is not corrected, the others are. */
static void primary_measure_stands_apart(void **state) {
    struct compare_settings settings = usual_settings();
    settings.primary = "m3";
    shot_compare_result result = simulated(&settings, 6, 5, 0, 0, 77);
    size_t others = 0;
    for (size_t i = 0; i < result.row_count; i++) {
        const shot_compare_row *row = &result.rows[i];
        if (row->primary)
            assert_rel(row->p, row->contrast.test.p, 0);
        else
            others += row->p > row->contrast.test.p;
    }
    assert_int_equal(others, 4);
    assert_int_equal(result.tests, 4);
    shot_compare_result_free(&result);
}

/* Drift within alternating groups is seen where the order is known, and not taken for a difference.
 */
static void drift_is_tested_where_the_order_is_known(void **state) {
    struct compare_settings settings = usual_settings();
    shot_compare_result unknown = simulated(&settings, 8, 1, 0, 0.5, 3);
    assert_true(isnan(unknown.rows[0].p_drift));
    shot_compare_result_free(&unknown);
    settings.by = "grind"; /* one stream: the order of reading */
    shot_compare_result known = simulated(&settings, 8, 1, 0, 0.5, 3);
    assert_true(known.rows[0].p_drift < 0.001);
    assert_close(known.rows[0].drift.slope, 0.5, 0.2);
    assert_int_equal(known.rows[0].contrast.verdict, SHOT_VERDICT_NOT_SETTLED);
    bool blocks = true;
    assert_int_equal(shot_compare_in_blocks(&known.groups, 0, 1, &blocks), SHOT_OK);
    assert_false(blocks);
    for (size_t i = 0; i < 16; i++)
        known.groups.table.shots[i].group = i >= 8;
    assert_int_equal(shot_compare_in_blocks(&known.groups, 0, 1, &blocks), SHOT_OK);
    assert_true(blocks);
    shot_compare_result_free(&known);
}

static void add_shot_with(shot_measure_table *table, const char *key, const char *value,
                          const char *t0) {
    shot_table shot = {0};
    shot_head head = {0};
    shot_head_set_name(&head, "x");
    if (value != NULL)
        shot_head_add_line(&head, key, value);
    shot_head_add_line(&head, "t0", t0);
    shot_head_add_channel(&head, "time", "s");
    assert_int_equal(shot_table_begin(&shot, &head), SHOT_OK);
    assert_int_equal(shot_measure_table_add_trace(table, &shot, 0, NULL), SHOT_OK);
    shot_head_free(&head);
    shot_table_free(&shot);
}

static void groups_follow_the_values_of_a_key(void **state) {
    shot_compare_groups groups = {0};
    const char *values[] = {"10", "2.0", NULL, "2", "9.5"};
    const shot_notice silent = {0};
    for (int i = 0; i < 5; i++)
        add_shot_with(&groups.table, "grind", values[i], "0");
    assert_int_equal(shot_compare_group_by(&groups, "grind", &silent), SHOT_OK);
    assert_int_equal(groups.count, 3);
    assert_string_equal(groups.labels[0], "2.0"); /* numbers in their order; 2 is 2.0 */
    assert_string_equal(groups.labels[2], "10");
    assert_int_equal(shot_compare_group_size(&groups, 0), 2);
    assert_int_equal(shot_compare_group_size(&groups, COMPARE_LEFT_OUT), 1);
    shot_compare_groups_free(&groups);
}

/* Dates order the shots; clocks that start with the machine do not. */
static void dates_order_the_shots(void **state) {
    shot_compare_groups dated = {0}, undated = {0};
    add_shot_with(&dated.table, "a", "1", "1709280000.5");
    add_shot_with(&dated.table, "a", "1", "1709270000");
    assert_int_equal(shot_compare_find_order(&dated), SHOT_OK);
    assert_true(dated.by_clock);
    assert_int_equal(dated.place[0], 1);
    add_shot_with(&undated.table, "a", "1", "500");
    add_shot_with(&undated.table, "a", "1", "3");
    assert_int_equal(shot_compare_find_order(&undated), SHOT_OK);
    assert_false(undated.by_clock);
    assert_int_equal(undated.place[0], 0);
    shot_compare_groups_free(&dated);
    shot_compare_groups_free(&undated);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(many_measures_raise_no_more_alarms_than_one),
        cmocka_unit_test(counts_have_no_limits_that_take_them_as_normal),
        cmocka_unit_test(primary_measure_stands_apart),
        cmocka_unit_test(drift_is_tested_where_the_order_is_known),
        cmocka_unit_test(groups_follow_the_values_of_a_key),
        cmocka_unit_test(dates_order_the_shots),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
