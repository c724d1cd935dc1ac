/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the wetting front against worked values (Green & Ampt): 93 degC, e 0.4, 15 mm, 1e-14
 * m2; 1e-9, the digits that follow from the viscosity as printed. */
#include <support/check.h>

#include <shottrace/puck/infiltration.h>

static const double HOT = 303.7189e-6;

static void time_to_wet_the_bed_matches_the_worked_value(void **state) {
    assert_rel(shot_infiltration_time(3e5, 1e-14, 0.4, 0.015, HOT), 4.5557835, 1e-9);
    assert_rel(shot_infiltration_time(9e5, 1e-14, 0.4, 0.015, HOT), 1.5185945, 1e-9);
}

static void depth_is_the_inverse_and_grows_like_the_root_of_time(void **state) {
    assert_rel(shot_infiltration_depth(9e5, 1e-14, 0.4, 1.5185945, HOT), 0.015, 1e-9);
    assert_rel(shot_infiltration_depth(9e5, 1e-14, 0.4, 4, HOT),
               2 * shot_infiltration_depth(9e5, 1e-14, 0.4, 1, HOT), 1e-14);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(time_to_wet_the_bed_matches_the_worked_value),
        cmocka_unit_test(depth_is_the_inverse_and_grows_like_the_root_of_time),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
