/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: measures of many shots gathered from traces and from text, missing ones kept missing.
 */
#include <support/check.h>

#include <string.h>

#include <shottrace/judge/measure_table.h>

static shot_status add(shot_measure_table *table, const char *line, size_t group,
                       shot_error *error) {
    return shot_measure_table_add_line(table, line, strlen(line), group, error);
}

static void rows_become_shots_and_columns(void **state) {
    shot_measure_table t = {0};
    double values[4];
    size_t column;
    assert_int_equal(add(&t, "quay-1,first-drip.time,7.5,s,7.2,7.8,0.95,", 0, NULL), SHOT_OK);
    assert_int_equal(add(&t, "\"quay, \"\"two\"\"\",first-drip.time,,s,,,,", 0, NULL), SHOT_OK);
    assert_int_equal(add(&t, "quay-1,crema,3,", 0, NULL), SHOT_OK);
    assert_int_equal(add(&t, "quay-1,foam,NaN,", 0, NULL), SHOT_OK);
    assert_int_equal(add(&t, "quay-1,first-drip.time,8,s,,,,", 1, NULL), SHOT_OK);
    assert_int_equal(t.shot_count, 3);
    assert_string_equal(t.shots[1].name, "quay, \"two\"");
    assert_true(shot_measure_table_find(&t, "first-drip.time", &column));
    assert_string_equal(t.columns[column].label, "first drop after");
    assert_int_equal(shot_measure_table_values(&t, column, 0, values), 2);
    assert_rel(values[0], 7.5, 0);
    assert_true(isnan(values[1]));
    assert_int_equal(shot_measure_table_values(&t, column, 1, values), 1);
    assert_true(isnan(shot_measure_table_value(&t, 2, column + 1)));
    assert_true(shot_measure_table_find(&t, "foam", &column));
    assert_true(isnan(shot_measure_table_value(&t, 0, column)));
    shot_measure_table_free(&t);
}

static void columns_follow_the_order_of_the_kinds(void **state) {
    shot_measure_table t = {0};
    size_t column;
    assert_int_equal(add(&t, "a,zest,1,", 0, NULL), SHOT_OK);
    assert_int_equal(add(&t, "a,score,82,", 0, NULL), SHOT_OK);
    assert_int_equal(add(&t, "a,shot.time,30,s", 0, NULL), SHOT_OK);
    assert_int_equal(shot_measure_table_sort(&t), SHOT_OK);
    assert_string_equal(t.columns[0].name, "shot.time");
    assert_string_equal(t.columns[2].name, "zest");
    assert_true(shot_measure_table_find(&t, "score", &column));
    assert_rel(shot_measure_table_value(&t, 0, column), 82, 0);
    shot_measure_table_free(&t);
}

static void wrong_rows_are_refused_with_a_sentence(void **state) {
    shot_measure_table t = {0};
    shot_error error = {0};
    assert_int_equal(add(&t, "a,score,eighty,", 0, &error), SHOT_ERR_SYNTAX);
    assert_string_equal(error.what,
                        "score is 'eighty', not a number; leave the field empty if it is missing");
    assert_int_equal(add(&t, "a,score", 0, &error), SHOT_ERR_SYNTAX);
    assert_int_equal(add(&t, "a,brew.time,30,s", 0, &error), SHOT_OK);
    assert_int_equal(add(&t, "b,brew.time,0.5,min", 0, &error), SHOT_ERR_UNIT);
    assert_string_equal(error.what, "shot 'b': 'brew.time' is in [min], but in [s] elsewhere");
    shot_measure_table_free(&t);
}

static void metadata_that_are_numbers_become_measures(void **state) {
    shot_measure_table t = {0};
    const char *values[] = {"2.2", "2.4 clicks", "2024-03-01", "fine", "10:30"};
    for (int i = 0; i < 5; i++) {
        shot_table shot = {0};
        shot_head head = {0};
        shot_head_set_name(&head, "x");
        shot_head_add_line(&head, "grind", values[i]);
        shot_head_add_line(&head, NULL, "a comment");
        shot_head_add_channel(&head, "time", "s");
        assert_int_equal(shot_table_begin(&shot, &head), SHOT_OK);
        assert_int_equal(shot_measure_table_add_trace(&t, &shot, 0, NULL), SHOT_OK);
        shot_head_free(&head);
        shot_table_free(&shot);
    }
    size_t column;
    assert_string_equal(shot_measure_table_metadata(&t, 3, "grind"), "fine");
    assert_int_equal(shot_measure_table_add_key(&t, "colour", NULL), SHOT_OK);
    assert_false(shot_measure_table_find(&t, "colour", &column));
    assert_int_equal(shot_measure_table_add_key(&t, "grind", NULL), SHOT_ERR_UNIT); /* clicks? */
    assert_true(shot_measure_table_find(&t, "grind", &column));
    assert_rel(shot_measure_table_value(&t, 0, column), 2.2, 0);
    assert_true(isnan(shot_measure_table_value(&t, 2, column)));
    shot_measure_table_free(&t);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rows_become_shots_and_columns),
        cmocka_unit_test(columns_follow_the_order_of_the_kinds),
        cmocka_unit_test(wrong_rows_are_refused_with_a_sentence),
        cmocka_unit_test(metadata_that_are_numbers_become_measures),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
