/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: rows are found by the name of their shot, in their order, and those never asked for
 * are told. */
#include <support/check.h>

#include <stdio.h>
#include <string.h>

#include <shottrace/trace/name_list.h>

static void rows_of_a_name_in_their_order(void **state) {
    static const char *const names[] = {"b", "a", "b", "", "c", "b"};
    shot_name_list list = {0};
    size_t count;
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        assert_int_equal(shot_name_list_add(&list, names[i]), SHOT_OK);
    shot_name_list_sort(&list);
    const shot_named *of = shot_name_list_find(&list, "b", &count);
    assert_int_equal(count, 3);
    assert_int_equal(of[0].index, 0);
    assert_int_equal(of[1].index, 2);
    assert_int_equal(of[2].index, 5);
    assert_non_null(shot_name_list_find(&list, "", &count));
    assert_int_equal(count, 1);
    assert_null(shot_name_list_find(&list, "bb", &count));
    assert_int_equal(count, 0);
    shot_name_sample left = {0};
    assert_int_equal(shot_name_sample_add_unmet(&left, &list), SHOT_OK);
    assert_string_equal(shot_name_sample_text(&left), "'a', 'c'");
    shot_name_sample_free(&left);
    shot_name_list_free(&list);
}

static void an_empty_list_finds_nothing(void **state) {
    shot_name_list list = {0};
    size_t count;
    shot_name_list_sort(&list);
    assert_null(shot_name_list_find(&list, "a", &count));
    shot_name_list_free(&list);
}

/* A message stays short, however many names there are. */
static void many_names_are_counted(void **state) {
    shot_name_sample sample = {0};
    char name[8];
    assert_null(shot_name_sample_text(&sample));
    for (int i = 0; i < 1000; i++) {
        snprintf(name, sizeof name, "%d", i);
        assert_int_equal(shot_name_sample_add(&sample, name), SHOT_OK);
    }
    assert_string_equal(shot_name_sample_text(&sample), "'0', '1', '2', '3', '4' and 995 more");
    shot_name_sample_free(&sample);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rows_of_a_name_in_their_order),
        cmocka_unit_test(an_empty_list_finds_nothing),
        cmocka_unit_test(many_names_are_counted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
