/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: settings are told apart on a page by no more digits than that needs. */
#include <support/check.h>

#include "judge/sweep_parts.h"

static int decimals_of(double *settings, size_t count) {
    return shot_sweep_decimals(&(shot_sweep_points){.settings = settings, .setting_count = count});
}

/* To a hundredth of the range; of a single setting to a thousandth of itself. */
static void as_many_decimals_as_tell_them_apart(void **state) {
    assert_int_equal(decimals_of((double[]){6, 7, 9}, 3), 0);
    assert_int_equal(decimals_of((double[]){6, 6.5, 9}, 3), 1);
    assert_int_equal(decimals_of((double[]){6.25, 6.5, 6.75}, 3), 2);
    assert_int_equal(decimals_of((double[]){600, 650.4, 900}, 3), 0);
    assert_int_equal(decimals_of((double[]){9}, 1), 0);
    assert_int_equal(decimals_of((double[]){9.09}, 1), 2);
    assert_int_equal(decimals_of((double[]){-9.09}, 1), 2);
    assert_int_equal(decimals_of((double[]){0.001, 0.002}, 2), 3);
    assert_int_equal(decimals_of((double[]){1, 1 + 1e-15}, 2), 9); /* no more, whatever they are */
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(as_many_decimals_as_tell_them_apart)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
