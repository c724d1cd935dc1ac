/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: how many right answers show that a difference is tasted. */
#include <support/check.h>

#include <shottrace/signal/forced_choice.h>

/* ISO 4120:2004, table A.1: least number of right answers of a triangle test at 5 % (values from
 * memory); the same by exact fractions for up to ten. */
static void needed_triangles_are_those_of_the_standard(void **state) {
    static const size_t table[][2] = {{6, 5},   {7, 5},   {8, 6},   {9, 6},   {10, 7},
                                      {12, 8},  {15, 9},  {18, 10}, {20, 11}, {24, 13},
                                      {30, 15}, {36, 18}, {42, 20}, {48, 22}, {60, 27}};
    for (size_t i = 0; i < sizeof table / sizeof *table; i++)
        assert_int_equal(shot_forced_choice_needed(table[i][0], 1.0 / 3, 0.05), table[i][1]);
    assert_int_equal(shot_forced_choice_needed(2, 1.0 / 3, 0.05), 3); /* two right: 1 in 9 */
    assert_int_equal(shot_forced_choice_needed(0, 1.0 / 3, 0.05), 1);
}

/* By exact fractions: 12 triangles, 8 or more right, 9969 of 3^12 ways; all of 5 pairs 1 of 32. */
static void chances_are_the_counts(void **state) {
    assert_rel(shot_forced_choice_p(8, 12, 1.0 / 3), 9969.0 / 531441, 1e-12);
    assert_rel(shot_forced_choice_p(5, 5, 0.5), 1.0 / 32, 1e-12);
    assert_rel(shot_forced_choice_p(0, 5, 0.5), 1, 0);
}

/* Who always tells them apart always gets there; who never does, as seldom as guessing. */
static void power_goes_from_guessing_to_certainty(void **state) {
    assert_rel(shot_forced_choice_power(12, 1.0 / 3, 0.05, 1), 1, 1e-12);
    assert_rel(shot_forced_choice_power(12, 1.0 / 3, 0.05, 0), 9969.0 / 531441, 1e-12);
    assert_rel(shot_forced_choice_power(2, 1.0 / 3, 0.05, 1), 0, 0);
}

/* Clopper & Pearson's interval of 9 of 12 is 0.428 to 0.945 (R 4.2.2, binom.test), of which a third
 * is guessing. */
static void what_is_beyond_guessing_has_an_interval(void **state) {
    double low, high;
    assert_int_equal(shot_forced_choice_able(9, 12, 1.0 / 3, 0.95, &low, &high), SHOT_OK);
    assert_close(low, 1.5 * (0.4281415 - 1.0 / 3), 1e-6);
    assert_close(high, 1.5 * (0.9451394 - 1.0 / 3), 1e-6);
    assert_int_equal(shot_forced_choice_able(2, 12, 1.0 / 3, 0.95, &low, &high), SHOT_OK);
    assert_rel(low, 0, 0);
    assert_int_equal(shot_forced_choice_able(2, 0, 1.0 / 3, 0.95, &low, &high), SHOT_ERR_RANGE);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(needed_triangles_are_those_of_the_standard),
        cmocka_unit_test(chances_are_the_counts),
        cmocka_unit_test(power_goes_from_guessing_to_certainty),
        cmocka_unit_test(what_is_beyond_guessing_has_an_interval),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
