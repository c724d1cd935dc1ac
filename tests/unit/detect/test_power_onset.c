/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: one search for several powers tells of all together, and of the first alone, what a
 * search for just those tells, to the bit; each power alone finds the onset of a curve of its
 * shape, and the wrong one does not; no rise, no onset. */
#include <support/check.h>

#include <math.h>

#include <shottrace/signal/random.h>

#include "detect/power_onset.h"

enum { SAMPLES = 200 };

static const double spacing = 0.05, onset = 4; /* s */

typedef struct way {
    double t[SAMPLES], y[SAMPLES];
    shot_channel_view view;
    shot_power_rule rule;
} way;

/* From a level of 2 along c (t - onset)^power. */
static void draw(shot_random *random, int power, double c, double sd, way *out) {
    for (int i = 0; i < SAMPLES; i++) {
        const double u = fmax(0, spacing * i - onset);
        out->t[i] = spacing * i;
        out->y[i] = 2 + c * (u > 0 ? pow(u, power) : 0) + sd * shot_random_normal(random);
    }
    out->view = (shot_channel_view){.t = out->t, .y = out->y, .n = SAMPLES};
    out->view.noise = (shot_noise){.sd = sd, .spacing = spacing, .inflation = 1};
    out->rule = (shot_power_rule){.to = 7,
                                  .earliest = 1,
                                  .latest = 6.5,
                                  .level = 2,
                                  .level_sd = 0.1 * sd,
                                  .sign = 1,
                                  .powers = 3};
}

static void assert_same(const shot_instant *a, const shot_instant *b) {
    assert_memory_equal(a, b, sizeof *a);
}

static void all_at_once_is_one_after_the_other(void **state) {
    shot_random random = shot_random_at(812, 1);
    for (int trial = 0; trial < 60; trial++) {
        way w;
        shot_instant alone[3], any, plain;
        draw(&random, 1 + trial % 3, trial % 2 ? 0.5 : -0.5, 0.05, &w);
        w.rule.sloped = trial % 5 == 0;
        w.rule.powers = 2 + trial % 2;
        assert_int_equal(shot_power_onset_each(&w.view, &w.rule, alone, &any), SHOT_OK);
        assert_int_equal(shot_power_onset(&w.view, &w.rule, &plain), SHOT_OK);
        assert_same(&any, &plain);
        w.rule.powers = 1;
        assert_int_equal(shot_power_onset(&w.view, &w.rule, &plain), SHOT_OK);
        assert_same(&alone[0], &plain);
    }
}

/* Within the step of the grid, 5.5 s / 240, where noise is small. */
static void each_power_finds_its_own_shape(void **state) {
    shot_random random = shot_random_at(812, 2);
    for (int power = 1; power <= 3; power++) {
        way w;
        shot_instant alone[3], any;
        draw(&random, power, 1, 1e-4, &w);
        assert_int_equal(shot_power_onset_each(&w.view, &w.rule, alone, &any), SHOT_OK);
        assert_same(&alone[power - 1], &any);
        for (int p = 1; p <= 3; p++)
            assert_int_equal(fabs(alone[p - 1].at - onset) < 5.5 / 240, p == power);
    }
}

static void a_fall_is_no_rise(void **state) {
    shot_random random = shot_random_at(812, 3);
    way w;
    shot_instant alone[3], any;
    draw(&random, 1, -1, 1e-4, &w);
    w.rule.latest = 4.5; /* later on there is nothing but what falls on evenly */
    assert_int_equal(shot_power_onset_each(&w.view, &w.rule, alone, &any), SHOT_OK);
    assert_true(isnan(any.at) && isnan(alone[0].at) && isnan(alone[2].at));
    w.view.n = 2;
    assert_int_equal(shot_power_onset_each(&w.view, &w.rule, alone, &any), SHOT_OK);
    assert_true(isnan(any.at) && isnan(alone[1].at));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(all_at_once_is_one_after_the_other),
        cmocka_unit_test(each_power_finds_its_own_shape),
        cmocka_unit_test(a_fall_is_no_rise),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
