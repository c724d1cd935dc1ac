/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: on a log of two samples a second both knees of a short ramp are found, a finer log is
 * left to the scan, and a line with noise has no knee. */
#include <support/check.h>

#include <stdlib.h>

#include <shottrace/signal/random.h>

#include "detect/knee_coarse.h"

enum { N = 60 };
static const double SD = 0.02;

/* 0 bar, from 12.1 to 13.3 s up to 8 bar (or not), with noise. */
static size_t knees_of(double spacing, double height, shot_knee *knees) {
    double t[N], y[N];
    shot_random random = shot_random_at(75, 1);
    shot_channel_view view = {
        .t = t, .y = y, .n = N, .noise = {.sd = SD, .spacing = spacing, .inflation = 1}};
    line_sums *sums;
    size_t count = 0;
    for (size_t i = 0; i < N; i++) {
        t[i] = spacing * (double)i;
        y[i] = height * fmin(1, fmax(0, (t[i] - 12.1) / 1.2)) + SD * shot_random_normal(&random);
    }
    assert_int_equal(line_sums_new(t, y, NULL, N, &sums), SHOT_OK);
    assert_int_equal(shot_knee_coarse(&view, sums, 0.15, 0.01, 0.95, knees, &count), SHOT_OK);
    line_sums_free(sums);
    return count;
}

static void test_a_short_ramp_has_two_knees(void **state) {
    (void)state;
    shot_knee knees[N];
    assert_int_equal(knees_of(0.5, 8, knees), 2);
    assert_true(knees[0].low <= 12.1 && 12.1 <= knees[0].high);
    assert_true(knees[1].low <= 13.3 && 13.3 <= knees[1].high);
    assert_true(knees[0].after > knees[0].before && knees[1].after < knees[1].before);
}

static void test_noise_has_none(void **state) {
    (void)state;
    shot_knee knees[N];
    assert_int_equal(knees_of(0.5, 0, knees), 0);
}

static void test_a_finer_log_is_left_to_the_scan(void **state) {
    (void)state;
    shot_knee knees[N];
    assert_int_equal(knees_of(0.19, 8, knees), 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_short_ramp_has_two_knees),
        cmocka_unit_test(test_noise_has_none),
        cmocka_unit_test(test_a_finer_log_is_left_to_the_scan),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
