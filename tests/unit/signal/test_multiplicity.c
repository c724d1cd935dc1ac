/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: Holm's adjusted p values, with ties, missing tests and the cap at 1. */
#include <support/check.h>

#include <shottrace/signal/multiplicity.h>

/* By hand: 0.01 * 4, then 0.02 * 3, then max(0.06, 0.03 * 2), then max(0.06, 0.04). */
static void adjusted_values_step_down_and_never_fall(void **state) {
    const double p[] = {0.04, 0.01, 0.03, 0.02};
    double q[4];
    assert_int_equal(shot_multiplicity_holm(p, 4, q), SHOT_OK);
    assert_rel(q[0], 0.06, 1e-15);
    assert_rel(q[1], 0.04, 1e-15);
    assert_rel(q[2], 0.06, 1e-15);
    assert_rel(q[3], 0.06, 1e-15);
}

static void large_values_stop_at_one_and_missing_tests_do_not_count(void **state) {
    double p[] = {0.9, NAN, 0.02, 0.6};
    assert_int_equal(shot_multiplicity_holm(p, 4, p), SHOT_OK); /* in place */
    assert_rel(p[0], 1, 0);
    assert_true(isnan(p[1]));
    assert_rel(p[2], 0.06, 1e-15);
    assert_rel(p[3], 1, 0);
}

static void what_is_no_probability_is_refused(void **state) {
    double q[1];
    assert_int_equal(shot_multiplicity_holm((double[]){1.1}, 1, q), SHOT_ERR_RANGE);
    assert_int_equal(shot_multiplicity_holm(NULL, 0, NULL), SHOT_OK);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(adjusted_values_step_down_and_never_fall),
        cmocka_unit_test(large_values_stop_at_one_and_missing_tests_do_not_count),
        cmocka_unit_test(what_is_no_probability_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
