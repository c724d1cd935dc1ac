/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: of a sensor slower than its logger each figure counts once, at the row in which it
 * came, with the noise of the figures; a channel with news in each row, and one that a filter
 * changed, stay as they are. */
#include <support/check.h>

#include <stdlib.h>

#include <shottrace/signal/random.h>

#include "detect/fresh_values.h"

enum { ROWS = 600 };
static const double SD = 0.05, SPACING = 0.05;

/* A rise from 0 to 9 and back in 15 s each, in steps of 0.01, with news in each `rows`-th row. */
static shot_channel_view sensor(uint64_t seed, size_t rows) {
    shot_random random = shot_random_at(83, seed);
    shot_channel_view view = {.n = ROWS, .step = 0.01};
    double *work = malloc(shot_noise_workspace(ROWS) * sizeof *work), figure = 0;
    view.t = calloc(ROWS, sizeof *view.t);
    view.y = calloc(ROWS, sizeof *view.y);
    assert_true(work != NULL && view.t != NULL && view.y != NULL);
    for (size_t i = 0; i < ROWS; i++) {
        view.t[i] = SPACING * (double)i;
        if (i % rows == 0)
            figure = 9 - 0.6 * fabs(view.t[i] - 15) + SD * shot_random_normal(&random);
        view.y[i] = round(figure / view.step) * view.step;
    }
    assert_int_equal(shot_noise_estimate(view.t, view.y, ROWS, view.step, work, &view.noise),
                     SHOT_OK);
    free(work);
    return view;
}

static shot_channel_view fresh_of(const shot_channel_view *view) {
    shot_channel_view fresh;
    assert_int_equal(shot_view_fresh(view, &fresh), SHOT_OK);
    return fresh;
}

/* Two figures on end are the same to the step in some 4 % of the cases (a change of 0.15 +- 0.07
 * that is 0 to within 0.005), and may then count once or twice.  The SD of a robust estimate from
 * 120 figures has a relative error of some 12 %: three of them. */
static void a_held_figure_counts_once(void **state) {
    for (uint64_t seed = 0; seed < 10; seed++) {
        shot_channel_view view = sensor(seed, 5), fresh = fresh_of(&view);
        assert_close(fresh.n, ROWS / 5, 0.04 * ROWS / 5);
        size_t in_place = 0;
        for (size_t i = 0; i < fresh.n; i++)
            in_place += (size_t)lround(fresh.t[i] / SPACING) % 5 == 0;
        assert_true(in_place >= 0.95 * (double)fresh.n);
        assert_rel(fresh.noise.sd, SD, 0.36);
        shot_channel_view_free(&fresh);
        shot_channel_view_free(&view);
    }
}

static void expect_same(const shot_channel_view *view) {
    shot_channel_view fresh = fresh_of(view);
    assert_int_equal(fresh.n, view->n);
    assert_memory_equal(fresh.t, view->t, view->n * sizeof *view->t);
    assert_memory_equal(fresh.y, view->y, view->n * sizeof *view->y);
    assert_close(fresh.noise.sd, view->noise.sd, 0);
    shot_channel_view_free(&fresh);
}

static void news_in_each_row_stay(void **state) {
    for (uint64_t seed = 0; seed < 10; seed++) {
        shot_channel_view view = sensor(seed, 1);
        expect_same(&view);
        shot_channel_view_free(&view);
    }
}

static void what_a_filter_changed_stays(void **state) {
    shot_channel_view view = sensor(0, 5);
    view.processed = true;
    expect_same(&view);
    shot_channel_view_free(&view);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_held_figure_counts_once),
        cmocka_unit_test(news_in_each_row_stay),
        cmocka_unit_test(what_a_filter_changed_stays),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
