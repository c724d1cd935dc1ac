/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what a channel shows between its samples and beside them, and steps that go on evenly
 * but over a hole. */
#include <support/check.h>

#include "detect/channel_view.h"

/* A sample a second, and a clock that was set by ten years on the way. */
static const double years = 3e8;
static double times[] = {0, 1, 2, 3, 3e8, 3e8 + 1}, values[] = {0, 10, 20, 10, 50, 60};
static const shot_channel_view log_of_years = {.t = times, .y = values, .n = 6};

static void a_value_lies_on_the_line_between_samples(void **state) {
    assert_rel(shot_view_at(&log_of_years, 0.25), 2.5, 1e-15);
    assert_rel(shot_view_at(&log_of_years, 2), 20, 0);
    assert_rel(shot_view_at(&log_of_years, 2.5), 15, 1e-15);
}

static void beyond_the_ends_the_last_value_stands(void **state) {
    const shot_channel_view none = {0};
    assert_rel(shot_view_at(&log_of_years, -5), 0, 0);
    assert_rel(shot_view_at(&log_of_years, years + 5), 60, 0);
    assert_true(isnan(shot_view_at(&none, 1)));
}

/* Within half a second of a sample each step counts; what is further from any is left in one. */
static void a_hole_of_years_is_one_step(void **state) {
    double t = 0;
    int steps = 0;
    for (; t < years + 1; t = shot_view_step_on(&log_of_years, t, 0.5, 0.25)) {
        if (t > 4 && t < years - 1)
            fail_msg("%g s is in the hole", t);
        steps++;
    }
    assert_in_range(steps, 12, 30); /* 12 up to 3 s, at most 2 more; as many about the last two */
}

/* Beside samples nothing is left out, and the steps lie on one grid behind a hole too. */
static void steps_stay_on_their_grid(void **state) {
    double t = 0;
    for (int k = 0; k < 12; k++, t = shot_view_step_on(&log_of_years, t, 0.5, 0.25))
        assert_rel(t, 0.25 * k, 1e-15);
    while (t < 5)
        t = shot_view_step_on(&log_of_years, t, 0.5, 0.25);
    assert_true(t > years - 1 && t <= years);
    assert_rel(t / 0.25, round(t / 0.25), 0);
}

static void where_no_step_can_be_told_there_is_none(void **state) {
    assert_true(isinf(shot_view_step_on(&log_of_years, 1e17, 0.5, 0.25)));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_value_lies_on_the_line_between_samples),
        cmocka_unit_test(beyond_the_ends_the_last_value_stands),
        cmocka_unit_test(a_hole_of_years_is_one_step),
        cmocka_unit_test(steps_stay_on_their_grid),
        cmocka_unit_test(where_no_step_can_be_told_there_is_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
