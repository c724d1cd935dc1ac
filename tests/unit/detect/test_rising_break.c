/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: where a slope is known to rise, a curve that bends beside the place does not turn the
 * change of slope into a fall, the interval holds the change as often as it says, and no change
 * below 0 is told. */
#include <support/check.h>

#include <math.h>

#include <shottrace/signal/random.h>

#include "detect/rising_break.h"

enum { N = 81, LOGS = 400 };
static const double step = 0.05, at = 2; /* s */

/* A ramp that slows down all the time, and a break in it. */
static shot_knee measured(double change, double sd, uint64_t seed) {
    double t[N], y[N];
    shot_random random = shot_random_at(17, seed);
    for (int i = 0; i < N; i++) {
        const double u = i * step - at;
        t[i] = i * step;
        y[i] = 5 + 2 * u - 0.8 * u * u + change * fmax(u, 0) + sd * shot_random_normal(&random);
    }
    const shot_channel_view view = {
        .t = t, .y = y, .n = N, .noise = {.sd = sd, .inflation = 1, .spacing = step}};
    shot_knee out = {.at = at};
    assert_int_equal(shot_rising_break(&view, 1, 0.95, &out), SHOT_OK);
    return out;
}

/* Straight lines of a second on either side would tell a fall of 1.3. */
static void a_bend_is_no_part_of_the_break(void **state) {
    const shot_knee one = measured(0.3, 0, 0);
    assert_close(one.after - one.before, 0.3, 1e-9);
    assert_close(one.change_low, 0.3, 1e-9);
    assert_close(one.change_high, 0.3, 1e-9);
}

/* 95 % of 400 logs and three binomial standard errors, 13; the break is four standard errors. */
static void the_interval_holds_the_break(void **state) {
    int held = 0;
    for (uint64_t seed = 0; seed < LOGS; seed++) {
        const shot_knee one = measured(0.5, 0.03, seed);
        held += one.change_low <= 0.5 && 0.5 <= one.change_high;
    }
    print_message("held in %d of %d\n", held, LOGS);
    assert_in_range(held, 367, 393);
}

/* Without a break half of what is measured lies below 0; none of it is told. */
static void it_rises(void **state) {
    for (uint64_t seed = 0; seed < LOGS; seed++) {
        const shot_knee one = measured(0, 0.03, seed);
        assert_true(one.after >= one.before && one.change_low >= 0);
        assert_true(one.change_high >= one.after - one.before);
    }
}

static void too_few_samples_tell_nothing(void **state) {
    double t[] = {0, 1, 2, 3}, y[] = {0, 1, 2, 4};
    const shot_channel_view view = {
        .t = t, .y = y, .n = 4, .noise = {.sd = 0.1, .inflation = 1, .spacing = 1}};
    shot_knee out = {.at = 2};
    assert_int_equal(shot_rising_break(&view, 1, 0.95, &out), SHOT_OK);
    assert_true(isnan(out.before) && isnan(out.after) && isnan(out.change_low));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_bend_is_no_part_of_the_break),
        cmocka_unit_test(the_interval_holds_the_break),
        cmocka_unit_test(it_rises),
        cmocka_unit_test(too_few_samples_tell_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
