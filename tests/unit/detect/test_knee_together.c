/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: knees with two or three samples between them come to their places when each started at
 * a sample beside it, never pass one another, and one that is alone or known to a sample stays. */
#include <support/feed.h>

#include <stdlib.h>

#include <shottrace/signal/random.h>

#include "detect/knee_together.h"

enum { N = 40, KNEES = 3 };
static const double SPACING = 0.4, SD = 0.05, LEVEL = 0.95;
static const double PLACE[KNEES] = {6.1, 7.3, 8.3}, CHANGE[KNEES] = {6, -9, 3};

/* A bump of straight pieces, two and a half samples a second, times uneven by a fifth. */
static shot_channel_view bump(uint64_t seed) {
    shot_random random = shot_random_at(81, seed);
    shot_channel_view view = {.n = N, .noise = {.sd = SD, .spacing = SPACING, .inflation = 1}};
    view.t = calloc(N, sizeof *view.t);
    view.y = calloc(N, sizeof *view.y);
    for (size_t i = 0; i < N; i++) {
        view.t[i] = SPACING * ((double)i + 0.2 * shot_random_uniform(&random));
        view.y[i] = 1 + SD * shot_random_normal(&random);
        for (int k = 0; k < KNEES; k++)
            view.y[i] += CHANGE[k] * fmax(view.t[i] - PLACE[k], 0);
    }
    return view;
}

/* Each at the sample before or behind its place, with an interval as wide as asked. */
static void start_beside(const shot_channel_view *view, uint64_t seed, double width,
                         shot_knee *knees) {
    shot_random random = shot_random_at(82, seed);
    for (int k = 0; k < KNEES; k++) {
        const size_t behind = shot_view_first(view, PLACE[k]);
        const double at = view->t[shot_random_uniform(&random) < 0.5 ? behind - 1 : behind];
        knees[k] = (shot_knee){
            .at = at, .low = at - width / 2, .high = at + width / 2, .after = CHANGE[k]};
    }
}

static double squares_of_errors(const shot_knee *knees) {
    double sum = 0;
    for (int k = 0; k < KNEES; k++)
        sum += (knees[k].at - PLACE[k]) * (knees[k].at - PLACE[k]);
    return sum;
}

/* The root mean square of the errors falls to a third at least. */
static void places_come_out_between_samples(void **state) {
    double before = 0, after = 0;
    for (uint64_t seed = 0; seed < 100; seed++) {
        shot_channel_view view = bump(seed);
        shot_knee knees[KNEES];
        start_beside(&view, seed, 3 * SPACING, knees);
        before += squares_of_errors(knees);
        shot_knees_together(&view, LEVEL, knees, KNEES);
        after += squares_of_errors(knees);
        for (int k = 0; k < KNEES; k++) {
            assert_true(knees[k].low <= knees[k].at && knees[k].at <= knees[k].high);
            assert_true(k == 0 || knees[k - 1].at < knees[k].at);
        }
        shot_channel_view_free(&view);
    }
    assert_true(before > 0);
    assert_true(after < before / 9);
}

/* Of one that a sample or two hold the place is as good as it gets. */
static void a_knee_in_its_place_stays(void **state) {
    shot_channel_view view = bump(1);
    shot_knee knees[KNEES], old[KNEES];
    start_beside(&view, 1, 1.5 * SPACING, knees);
    start_beside(&view, 1, 1.5 * SPACING, old);
    shot_knees_together(&view, LEVEL, knees, KNEES);
    for (int k = 0; k < KNEES; k++)
        assert_close(knees[k].at, old[k].at, 0);
    shot_channel_view_free(&view);
}

static void a_knee_alone_stays(void **state) {
    shot_channel_view view = bump(2);
    shot_knee knees[KNEES];
    start_beside(&view, 2, 3 * SPACING, knees);
    knees[1].at = view.t[N - 3];
    const double at = knees[1].at;
    shot_knees_together(&view, LEVEL, knees, 1);
    shot_knees_together(&view, LEVEL, knees + 1, 1);
    assert_close(knees[1].at, at, 0);
    knees[0].at = view.t[4];
    shot_knees_together(&view, LEVEL, knees, 2);
    assert_close(knees[0].at, view.t[4], 0);
    assert_close(knees[1].at, at, 0);
    shot_channel_view_free(&view);
}

/* Samples that no broken line describes: knees stay in order, places finite. */
static void order_is_kept_in_noise(void **state) {
    shot_random random = shot_random_at(83, 0);
    for (uint64_t seed = 0; seed < 50; seed++) {
        shot_channel_view view = bump(seed);
        shot_knee knees[KNEES];
        start_beside(&view, seed, 4 * SPACING, knees);
        for (size_t i = 0; i < N; i++)
            view.y[i] = 1e5 * shot_random_normal(&random);
        shot_knees_together(&view, LEVEL, knees, KNEES);
        for (int k = 0; k < KNEES; k++)
            assert_true(isfinite(knees[k].at) && (k == 0 || knees[k - 1].at < knees[k].at));
        shot_channel_view_free(&view);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(places_come_out_between_samples),
        cmocka_unit_test(a_knee_in_its_place_stays),
        cmocka_unit_test(a_knee_alone_stays),
        cmocka_unit_test(order_is_kept_in_noise),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
