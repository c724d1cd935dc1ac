/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a fall between two samples has the two knees that a machine makes of it, one sample
 * that is off, figures that flicker and a clock that is unsteady have none, and a gauge slower than
 * its log has the knees of the pressure and not of its stairs. */
#include <support/feed.h>
#include <support/text_count.h>

#include <stdlib.h>

#include <shottrace/signal/random.h>

#include "detect/fresh_values.h"
#include "detect/knee_steps.h"

enum { N = 80 };
static const double SPACING = 0.25, SD = 0.02;

/* 9 bar with noise, four samples a second. */
static shot_channel_view steady(double step, uint64_t seed) {
    shot_random random = shot_random_at(74, seed);
    shot_channel_view view = {.n = N, .step = step, .noise = {.sd = SD}};
    view.t = calloc(N, sizeof *view.t);
    view.y = calloc(N, sizeof *view.y);
    for (size_t i = 0; i < N; i++) {
        view.t[i] = SPACING * (double)i;
        view.y[i] = 9 + SD * shot_random_normal(&random);
    }
    return view;
}

/* Adds to the `count` that are there, and returns how many there are then. */
static size_t steps_beside(const shot_channel_view *view, shot_knee *knees, size_t count) {
    line_sums *sums;
    assert_int_equal(line_sums_new(view->t, view->y, NULL, view->n, &sums), SHOT_OK);
    assert_int_equal(shot_knee_steps(view, sums, 0.15, 0.01, knees, &count), SHOT_OK);
    line_sums_free(sums);
    return count;
}

static size_t steps_of(const shot_channel_view *view, shot_knee *knees) {
    return steps_beside(view, knees, 0);
}

static void a_fall_between_samples_has_two_knees(void **state) {
    shot_knee knees[2 * N];
    shot_channel_view view = steady(0, 1);
    for (size_t i = 40; i < N; i++)
        view.y[i] -= 8;
    assert_int_equal(steps_of(&view, knees), 2);
    assert_true(knees[0].after < knees[0].before && knees[1].after > knees[1].before);
    for (int k = 0; k < 2; k++) {
        assert_close(knees[k].low, view.t[39], 0);
        assert_close(knees[k].high, view.t[40], 0);
        assert_true(knees[k].low < knees[k].at && knees[k].at < knees[k].high);
    }
    assert_true(knees[0].at < knees[1].at);
    shot_channel_view_free(&view);
}

/* A rise that pauses for two intervals at the same figure leaps nowhere there; each knee has a
 * place.
 */
static void a_flat_pause_is_no_step(void **state) {
    static const double rise[] = {0.1, 0.8, 0.8, 0.8, 2.7, 5, 6.3, 7.2, 7.8, 8.2, 8.5, 8.7, 8.9};
    enum { RISES = sizeof rise / sizeof *rise, BEGINS = 20 };
    shot_knee knees[2 * N];
    shot_channel_view view = steady(0.1, 8);
    for (size_t i = 0; i < BEGINS + RISES; i++)
        view.y[i] = i < BEGINS ? 0 : rise[i - BEGINS];
    const size_t count = steps_of(&view, knees);
    for (size_t k = 0; k < count; k++)
        assert_true(isfinite(knees[k].at));
    shot_channel_view_free(&view);
}

/* A fall that ends half a bar above the line behind it goes on: its last knee may lie within the
 * next interval. */
static void a_fall_that_is_not_over_reaches_on(void **state) {
    shot_knee knees[2 * N];
    shot_channel_view view = steady(0, 1);
    for (size_t i = 40; i < N; i++)
        view.y[i] -= i == 40 ? 7.5 : 8;
    assert_int_equal(steps_of(&view, knees), 2);
    assert_close(knees[0].low, view.t[39], 0);
    assert_close(knees[0].high, view.t[40], 0);
    assert_close(knees[1].high, view.t[41], 0);
    shot_channel_view_free(&view);
}

/* From 10.1 s on in 0.3 s: the sample at 10.25 s lies on the way. */
static void a_sample_on_the_way_places_the_first_knee(void **state) {
    shot_knee knees[2 * N];
    shot_channel_view view = steady(0, 2);
    for (size_t i = 0; i < N; i++)
        view.y[i] -= 8 * fmin(fmax(view.t[i] - 10.1, 0) / 0.3, 1);
    assert_int_equal(steps_of(&view, knees), 2);
    assert_close(knees[0].at, 10.1, 0.05); /* the chord behind it is half as steep as the fall */
    assert_true(knees[1].low <= 10.4 && 10.4 <= knees[1].high);
    shot_channel_view_free(&view);
}

static void a_lone_sample_is_no_step(void **state) {
    shot_knee knees[2 * N];
    for (uint64_t seed = 0; seed < 50; seed++) {
        shot_channel_view view = steady(0, seed);
        view.y[40] += 3;
        assert_int_equal(steps_of(&view, knees), 0);
        shot_channel_view_free(&view);
    }
}

/* Figures a step above and below the usual one, one in ten: 60 logs without a step. */
static void figures_that_flicker_are_no_steps(void **state) {
    shot_knee knees[2 * N];
    shot_random random = shot_random_at(75, 1);
    for (uint64_t seed = 0; seed < 60; seed++) {
        shot_channel_view view = steady(0.1, seed);
        for (size_t i = 0; i < N; i++) {
            view.y[i] = 9;
            if (shot_random_chance(&random, 0.1))
                view.y[i] += shot_random_chance(&random, 0.5) ? 0.1 : -0.1;
        }
        view.noise.sd = 0.1 / sqrt(12);
        assert_int_equal(steps_of(&view, knees), 0);
        shot_channel_view_free(&view);
    }
}

/* A quiet log whose second half rises by 1 bar/s, of rows that are dated late or early by a quarter
 * of the time between them: chords of 0.5 to 2 bar/s, and no step. */
static void an_unsteady_clock_makes_no_steps_of_a_ramp(void **state) {
    shot_knee knees[2 * N];
    shot_random random = shot_random_at(76, 1);
    size_t count = 0;
    for (uint64_t seed = 0; seed < 40; seed++) {
        shot_channel_view view = steady(0, seed);
        view.noise.sd = SD / 2;
        for (size_t i = 0; i < N; i++) {
            view.y[i] = 9 + (view.y[i] - 9) / 2;
            view.y[i] += i > N / 2 ? SPACING * (double)(i - N / 2) : 0;
        }
        for (size_t i = 0; i < N; i++)
            view.t[i] += fmin(fmax(shot_random_normal(&random), -1.5), 1.5) * SPACING / 4;
        count += steps_of(&view, knees);
        shot_channel_view_free(&view);
    }
    assert_in_range(count, 0, 4);
}

static void a_known_knee_is_not_added_again(void **state) {
    shot_knee knees[2 * N];
    shot_channel_view view = steady(0, 1);
    for (size_t i = 40; i < N; i++)
        view.y[i] -= 8;
    knees[0] = (shot_knee){.at = 9.7, .before = 0, .after = -30};
    assert_int_equal(steps_beside(&view, knees, 1), 2);
    assert_close(knees[0].at, 9.7, 0);
    assert_true(knees[1].after > knees[1].before);
    shot_channel_view_free(&view);
}

/* Between 9.75 and 10 s it falls by 7 bar, and then slowly by one more, as where a valve opens:
 * slopes over a second put the end of the fall into the next interval.  A place that is surer
 * stays. */
static void a_step_places_a_knee_that_is_not_sure(void **state) {
    shot_knee knees[2 * N];
    shot_channel_view view = steady(0, 1);
    for (size_t i = 40; i < N; i++)
        view.y[i] -= 8 - exp((10 - view.t[i]) / 0.3);
    knees[0] = (shot_knee){.at = 10.2, .low = 9.5, .high = 10.6, .before = -14, .after = -1};
    assert_int_equal(steps_beside(&view, knees, 1), 2);
    assert_close(knees[1].at, 9.9, 0.15);
    assert_close(knees[1].low, 9.5, 0);
    assert_close(knees[1].high, 10.6, 0);
    knees[0] = (shot_knee){.at = 10.2, .low = 10.1, .high = 10.3, .before = -14, .after = -1};
    assert_int_equal(steps_beside(&view, knees, 1), 2);
    assert_close(knees[1].at, 10.2, 0);
    shot_channel_view_free(&view);
}

/* ---- stairs ---- */

/* A gauge with news each 0.3 s in rows of 20 Hz: 2 bar, from 5 to 8 s up to 9 bar, at 20 s down to
 * 0 in a second. */
static double held_pressure(double t) {
    t = floor(t / 0.3) * 0.3;
    return 2 + 7 * fmin(fmax(t - 5, 0) / 3, 1) - 9 * fmin(fmax(t - 20, 0), 1);
}

static void a_slow_gauge_makes_no_knees_of_its_own(void **state) {
    shot_text text = {0};
    shot_random random = shot_random_at(76, 1);
    double noise = 0;
    shot_text_add(&text, "# gauge: puck\ntime [s],pressure [bar]\n");
    for (int i = 0; i < 600; i++) {
        if (i % 6 == 0)
            noise = 0.03 * shot_random_normal(&random);
        shot_text_add_format(&text, "%.2f,%.2f\n", i / 20.0, held_pressure(i / 20.0) + noise);
    }
    feed got = feed_chain("knees | marks", text.bytes, text.length, 0);
    assert_int_equal(got.status, SHOT_OK);
    assert_int_equal(count_of(got.out.bytes, ",knee,"), 4);
    feed_free(&got);
    shot_text_free(&text);
}

/* The same pressure in the rows of a gauge as fast as its log is left as it is. */
static void a_fast_gauge_keeps_its_samples(void **state) {
    shot_channel_view view = steady(0.01, 3), fresh;
    for (size_t i = 0; i < N; i++) {
        const double t = view.t[i];
        const double y = 2 + 7 * fmin(fmax(t - 5, 0) / 3, 1) - 9 * fmin(fmax(t - 17, 0), 1);
        view.y[i] = round((y + view.y[i] - 9) * 100) / 100;
    }
    assert_int_equal(shot_view_fresh(&view, &fresh), SHOT_OK);
    assert_int_equal(fresh.n, N);
    shot_channel_view_free(&fresh);
    shot_channel_view_free(&view);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_fall_between_samples_has_two_knees),
        cmocka_unit_test(a_flat_pause_is_no_step),
        cmocka_unit_test(a_fall_that_is_not_over_reaches_on),
        cmocka_unit_test(a_sample_on_the_way_places_the_first_knee),
        cmocka_unit_test(a_lone_sample_is_no_step),
        cmocka_unit_test(figures_that_flicker_are_no_steps),
        cmocka_unit_test(an_unsteady_clock_makes_no_steps_of_a_ramp),
        cmocka_unit_test(a_known_knee_is_not_added_again),
        cmocka_unit_test(a_step_places_a_knee_that_is_not_sure),
        cmocka_unit_test(a_slow_gauge_makes_no_knees_of_its_own),
        cmocka_unit_test(a_fast_gauge_keeps_its_samples),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
