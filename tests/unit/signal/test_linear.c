/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a straight line between neighbours, the samples themselves to the bit, and nothing
 * invented outside the samples or beside a missing one. */
#include <support/check.h>

#include <shottrace/signal/linear.h>

/* Four uneven samples that a hand can check. */
static const double T[] = {0, 0.9, 2.1, 3};
static const double Y[] = {0, 1.8, 0.6, 2.4};

static void a_grid_through_four_uneven_samples(void **state) {
    const double at[] = {0, 0.5, 1, 1.5, 2, 2.5, 3};
    const double expected[] = {0, 1, 1.7, 1.2, 0.7, 1.4, 2.4};
    double value[7];
    assert_int_equal(shot_linear(T, Y, 4, at, 7, value), SHOT_OK);
    for (size_t k = 0; k < 7; k++)
        assert_close(value[k], expected[k], 1e-13); /* a few roundings of numbers near 2 */
}

static void a_sample_comes_back_to_the_bit(void **state) {
    double value[4];
    assert_int_equal(shot_linear(T, Y, 4, T, 4, value), SHOT_OK);
    for (size_t k = 0; k < 4; k++)
        assert_true(value[k] == Y[k]);
}

static void nothing_is_invented_outside(void **state) {
    const double at[] = {-1, -1e-300, 3.0000000000000004, 9};
    double value[4];
    assert_int_equal(shot_linear(T, Y, 4, at, 4, value), SHOT_OK);
    for (size_t k = 0; k < 4; k++)
        assert_true(isnan(value[k]));
    assert_int_equal(shot_linear(T, Y, 0, at, 4, value), SHOT_OK);
    for (size_t k = 0; k < 4; k++)
        assert_true(isnan(value[k]));
}

static void one_sample_is_known_at_its_time_only(void **state) {
    const double at[] = {0.8, 0.9, 1};
    double value[3];
    assert_int_equal(shot_linear(T + 1, Y + 1, 1, at, 3, value), SHOT_OK);
    assert_true(isnan(value[0]) && value[1] == 1.8 && isnan(value[2]));
}

static void a_missing_sample_leaves_both_sides_missing(void **state) {
    const double t[] = {0, 1, 2, 3}, y[] = {5, NAN, 7, 9};
    const double at[] = {0, 0.5, 1, 1.5, 2, 2.5};
    double value[6];
    assert_int_equal(shot_linear(t, y, 4, at, 6, value), SHOT_OK);
    assert_true(value[0] == 5 && value[4] == 7 && value[5] == 8);
    assert_true(isnan(value[1]) && isnan(value[2]) && isnan(value[3]));
}

static void times_that_do_not_rise_are_refused(void **state) {
    const double repeated[] = {0, 1, 1, 2}, unknown[] = {0, NAN, 2, 3}, falling[] = {1, 0};
    double value[4];
    assert_int_equal(shot_linear(repeated, Y, 4, T, 4, value), SHOT_ERR_RANGE);
    assert_int_equal(shot_linear(unknown, Y, 4, T, 4, value), SHOT_ERR_RANGE);
    assert_int_equal(shot_linear(T, Y, 4, falling, 2, value), SHOT_ERR_RANGE);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_grid_through_four_uneven_samples),
        cmocka_unit_test(a_sample_comes_back_to_the_bit),
        cmocka_unit_test(nothing_is_invented_outside),
        cmocka_unit_test(one_sample_is_known_at_its_time_only),
        cmocka_unit_test(a_missing_sample_leaves_both_sides_missing),
        cmocka_unit_test(times_that_do_not_rise_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
