/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: roots are found to the last digits, also of functions that are hard on secants. */
#include <support/check.h>

#include <shottrace/signal/root.h>

static double cubic(double x, const void *context) {
    return x * x * x - *(const double *)context;
}

static double flat(double x, const void *context) {
    return pow(x - 1, 9);
}

static double jump(double x, const void *context) {
    return x < 0.3 ? -1 : 1;
}

static double steep(double x, const void *context) {
    return atan(1e6 * (x - 0.123456789));
}

static void roots_are_found_to_the_last_digits(void **state) {
    double x, eight = 8;
    assert_int_equal(shot_root_find(cubic, &eight, 0, 100, 0, &x), SHOT_OK);
    assert_rel(x, 2, 4e-16);
    assert_int_equal(shot_root_find(cubic, &eight, 100, -5, 0, &x), SHOT_OK); /* either order */
    assert_rel(x, 2, 4e-16);
    assert_int_equal(shot_root_find(steep, NULL, -1e3, 1e5, 0, &x), SHOT_OK);
    assert_rel(x, 0.123456789, 1e-15);
    /* (x - 1)^9 underflows to 0 within 1e-34 of its root only: full accuracy. */
    assert_int_equal(shot_root_find(flat, NULL, -3, 2.5, 0, &x), SHOT_OK);
    assert_rel(x, 1, 1e-15);
}

static void tolerance_is_in_x(void **state) {
    double x, eight = 8;
    assert_int_equal(shot_root_find(cubic, &eight, 0, 100, 1e-3, &x), SHOT_OK);
    assert_close(x, 2, 1e-3);
}

static void ends_and_jumps_count(void **state) {
    double x, eight = 8;
    assert_int_equal(shot_root_find(cubic, &eight, 2, 3, 0, &x), SHOT_OK);
    assert_rel(x, 2, 0);
    assert_int_equal(shot_root_find(jump, NULL, 0, 1, 0, &x), SHOT_OK);
    assert_rel(x, 0.3, 1e-15);
}

static void a_bracket_without_a_change_of_sign_is_refused(void **state) {
    double x, eight = 8;
    assert_int_equal(shot_root_find(cubic, &eight, 3, 4, 0, &x), SHOT_ERR_SINGULAR);
    assert_true(isnan(x));
    assert_int_equal(shot_root_find(cubic, &eight, 0, INFINITY, 0, &x), SHOT_ERR_RANGE);
    assert_int_equal(shot_root_find(cubic, &eight, 0, 4, -1, &x), SHOT_ERR_RANGE);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(roots_are_found_to_the_last_digits),
        cmocka_unit_test(tolerance_is_in_x),
        cmocka_unit_test(ends_and_jumps_count),
        cmocka_unit_test(a_bracket_without_a_change_of_sign_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
