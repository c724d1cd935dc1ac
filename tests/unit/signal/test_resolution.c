/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the step is that of the figures, whether or not they are noisy, converted or from a
 * formula. */
#include <support/check.h>

#include <shottrace/signal/random.h>
#include <shottrace/signal/resolution.h>

enum { N = 200 };

static void a_rounded_noisy_channel_tells_its_step(void **state) {
    const double steps[] = {0.25, 0.1, 0.02};
    for (int k = 0; k < 3; k++) {
        shot_random random = shot_random_at(5, (uint64_t)k);
        double y[N];
        for (int i = 0; i < N; i++)
            y[i] = steps[k] * round((5 + 0.2 * shot_random_normal(&random)) / steps[k]);
        assert_close(shot_resolution(y, N), steps[k], 1e-9);
    }
}

/* A converter of 0.0372 bar a step written with three decimals: to half of the last one. */
static void a_converter_step_survives_the_digits(void **state) {
    shot_random random = shot_random_at(6, 0);
    double y[N];
    for (int i = 0; i < N; i++)
        y[i] = round(37.2 * round(150 + 2 * shot_random_normal(&random))) / 1000;
    assert_close(shot_resolution(y, N), 0.0372, 0.00051);
}

/* Steps of 0.25 written with one digit, a half rounded to the even digit or up; and figures in
 * tenths that leap by two and more, as a weight does, which are none of these. */
static void quarters_that_lost_a_digit_are_quarters(void **state) {
    shot_random random = shot_random_at(8, 0);
    double even[N], up[N], weight[N], sum = 0;
    for (int i = 0; i < N; i++) {
        const double steps = round(4 * (0.04 * i + 0.2 * shot_random_normal(&random)));
        even[i] = nearbyint(2.5 * steps) / 10;
        up[i] = floor(2.5 * steps + 0.5) / 10;
        sum += 2 + floor(4 * shot_random_uniform(&random));
        weight[i] = sum / 10;
    }
    assert_close(shot_resolution(even, N), 0.25, 1e-12);
    assert_close(shot_resolution(up, N), 0.25, 1e-12);
    assert_close(shot_resolution(weight, N), 0.1, 1e-12);
}

/* Rows of one time that were merged to their mean stand between the steps: one in fifty, alone or
 * in a burst.  A channel of which every other figure lies between has the smaller step. */
static void means_of_merged_rows_are_no_steps(void **state) {
    shot_random random = shot_random_at(9, 0);
    double some[N], burst[N], half[N];
    for (int i = 0; i < N; i++) {
        const double value = 0.1 * round(60 + 3 * shot_random_normal(&random));
        some[i] = value + (i % 50 == 7 ? 1.0 / 60 : 0);
        burst[i] = value + (i < 4 ? 1.0 / 30 : 0) + (i == 5 ? 1.0 / 60 : 0);
        half[i] = value + (i % 2 ? 0.05 : 0);
    }
    assert_close(shot_resolution(some, N), 0.1, 1e-12);
    assert_close(shot_resolution(burst, N), 0.1, 1e-12);
    assert_close(shot_resolution(half, N), 0.05, 1e-12);
}

/* A ramp of 8.7 bar in 65 samples, 5 samples 0.06 bar apart, a hold: no change is a
 * multiple of the smallest, so the digits tell. */
static void a_smooth_curve_is_no_staircase(void **state) {
    double y[N], exact[N];
    for (int i = 0; i < N; i++) {
        exact[i] = i <= 65 ? 8.7 * i / 65 : i <= 70 ? 8.7 + 0.06 * (i - 65) : 9;
        y[i] = round(exact[i] * 1000) / 1000;
    }
    assert_close(shot_resolution(y, N), 0.001, 1e-12);
    assert_true(shot_resolution(exact, N) == 0);
}

/* An apparent permeability in m2: all of it would round to no step at all. */
static void values_far_below_one_have_no_step_of_one(void **state) {
    shot_random random = shot_random_at(7, 0);
    double y[N];
    for (int i = 0; i < N; i++)
        y[i] = 4e-15 * (1 + 0.1 * shot_random_normal(&random));
    assert_true(shot_resolution(y, N) == 0);
}

/* Means of four tenths, of which some leave 1e-18 for 0. */
static void what_rounding_leaves_of_nothing_is_no_step(void **state) {
    shot_random random = shot_random_at(9, 0);
    double y[N];
    for (int i = 0; i < N; i++)
        y[i] = floor(8 * shot_random_uniform(&random)) * 0.025;
    y[N / 3] = 5.2e-18;
    y[N / 2] = -6.9e-18;
    y[N / 2 + 1] = 0;
    assert_close(shot_resolution(y, N), 0.025, 1e-12);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_rounded_noisy_channel_tells_its_step),
        cmocka_unit_test(a_converter_step_survives_the_digits),
        cmocka_unit_test(quarters_that_lost_a_digit_are_quarters),
        cmocka_unit_test(means_of_merged_rows_are_no_steps),
        cmocka_unit_test(a_smooth_curve_is_no_staircase),
        cmocka_unit_test(values_far_below_one_have_no_step_of_one),
        cmocka_unit_test(what_rounding_leaves_of_nothing_is_no_step),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
