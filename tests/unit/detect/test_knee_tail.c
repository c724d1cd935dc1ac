/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what relaxes behind a knee is no second one, a second knee stays one, also on top of
 * such a curve, and no other knee is looked at. */
#include <support/feed.h>

#include <stdlib.h>

#include <shottrace/signal/random.h>

#include "detect/knee_tail.h"

enum { LOGS = 50, N = 160 };
static const double SPACING = 0.05, SD = 0.03;
static const double FIRST = 4, SECOND = 4.7; /* s: the knee, and where a second one is told */

typedef double curve(double u); /* s behind the first knee */

static double relaxing(double u) {
    return 2 * (1 - exp(-u / 0.6));
}

static double broken(double u) {
    return u < SECOND - FIRST ? 2.4 * u : 2.4 * (SECOND - FIRST);
}

static double broken_on_top(double u) {
    return relaxing(u) + 1.5 * fmax(u - (SECOND - FIRST), 0);
}

/* A ramp up to the first knee, and the curve behind it, in white noise. */
static shot_channel_view log_of(curve *behind, uint64_t seed) {
    shot_random random = shot_random_at(91, seed);
    shot_channel_view view = {.n = N, .noise = {.sd = SD, .spacing = SPACING, .inflation = 1}};
    view.t = calloc(N, sizeof *view.t);
    view.y = calloc(N, sizeof *view.y);
    for (size_t i = 0; i < N; i++) {
        view.t[i] = SPACING * ((double)i + 0.2 * shot_random_uniform(&random));
        const double u = view.t[i] - FIRST;
        view.y[i] = (u < 0 ? 7 * u : behind(u)) + SD * shot_random_normal(&random);
    }
    return view;
}

/* In how many logs is the second knee taken out?  The first and the one behind always stay. */
static int taken_out(curve *behind, double change) {
    int out = 0;
    for (uint64_t seed = 0; seed < LOGS; seed++) {
        shot_channel_view view = log_of(behind, seed);
        shot_knee knees[] = {
            {.at = FIRST, .before = 4}, {.at = SECOND, .after = change}, {.at = 7, .after = 2}};
        size_t count = 3;
        assert_int_equal(shot_knees_drop_tails(&view, knees, &count), SHOT_OK);
        assert_in_range(count, 2, 3);
        assert_close(knees[0].at, FIRST, 0);
        assert_close(knees[count - 1].at, 7, 0);
        out += count == 2;
        shot_channel_view_free(&view);
    }
    return out;
}

/* Margin and threshold are two and three standard errors: of 50 logs a few may go the other way. */
static void a_tail_is_no_knee(void **state) {
    assert_in_range(taken_out(relaxing, -2), LOGS - 10, LOGS);
}

static void a_second_knee_stays(void **state) {
    assert_int_equal(taken_out(broken, -2.4), 0);
}

static void a_knee_on_the_tail_stays(void **state) {
    assert_int_equal(taken_out(broken_on_top, 1.5), 0);
    assert_int_equal(taken_out(broken_on_top, -1.5), 0);
}

/* Of the other sign, or more than twice as large, it is no tail, whatever the curve. */
static void other_knees_are_not_looked_at(void **state) {
    assert_int_equal(taken_out(relaxing, 2), 0);
    assert_int_equal(taken_out(relaxing, -8.5), 0);
}

static void few_knees_and_few_samples(void **state) {
    shot_channel_view view = log_of(relaxing, 0);
    shot_knee knees[] = {{.at = FIRST, .before = 4}, {.at = SECOND, .after = -2}};
    size_t count = 0;
    assert_int_equal(shot_knees_drop_tails(&view, knees, &count), SHOT_OK);
    assert_int_equal(count, 0);
    count = 2;
    view.n = shot_view_first(&view, FIRST) + 4;
    assert_int_equal(shot_knees_drop_tails(&view, knees, &count), SHOT_OK);
    assert_int_equal(count, 2);
    shot_channel_view_free(&view);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_tail_is_no_knee),
        cmocka_unit_test(a_second_knee_stays),
        cmocka_unit_test(a_knee_on_the_tail_stays),
        cmocka_unit_test(other_knees_are_not_looked_at),
        cmocka_unit_test(few_knees_and_few_samples),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
