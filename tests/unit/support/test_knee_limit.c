/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The yardstick that the finding of knees is held against. */
#include <support/check.h>

#include <math.h>

#include <shottrace/signal/least_squares.h>
#include <shottrace/signal/random.h>

#include "support/knee_limit.h"

enum { ROWS = 401 };
static const double spacing = 0.05, middle = 10, reach = 2; /* s */

static double logged[ROWS], times[ROWS];

/* Sampled every 0.05 s for 20 s. */
static ideal_curves log_with(double noise) {
    for (int i = 0; i < ROWS; i++) {
        times[i] = spacing * i;
        logged[i] = 0;
    }
    return (ideal_curves){.channels = 1, .logged = {logged}, .noise = {noise}};
}

static double ratio_of(double noise, const knee_limit_knees *knees, knee_limit_case which) {
    const ideal_curves curves = log_with(noise);
    return knee_limit_ratio(&curves, times, ROWS, knees, 0, which);
}

/* Of a hinge of change 1 over n samples within h either way, level and line leave the sum of
 * squares n h^2 / 48, and a parabola n h^2 / 768 (by integration, with Legendre's polynomials): to
 * take bends for possible costs three quarters of the ratio. */
static void a_change_of_slope_has_the_textbook_ratio(void **state) {
    const double noise = 0.5, n = 2 * reach / spacing;
    const knee_limit_knees knees = {{middle}, {3}, 1};
    const double straight = 3 / noise * reach * sqrt(n / 48);
    const double bent = 3 / noise * reach * sqrt(n / 768);
    /* finite n: the sums differ from the integrals by a few shares of 1/n */
    assert_close(ratio_of(noise, &knees, KNEE_LIMIT_STRAIGHT), straight, 0.05 * straight);
    assert_close(ratio_of(noise, &knees, KNEE_LIMIT_BENT), bent, 0.05 * bent);
}

/* A second change at the same time cannot be told from it; one beyond all samples does not matter.
 */
static void others_hide_it_as_far_as_they_are_near(void **state) {
    const knee_limit_knees alone = {{middle}, {3}, 1}, same = {{middle, middle}, {3, 3}, 2};
    const knee_limit_knees beyond = {{middle, middle + 2 * reach}, {3, 3}, 2};
    const double ratio = ratio_of(0.5, &alone, KNEE_LIMIT_STRAIGHT);
    assert_close(ratio_of(0.5, &beyond, KNEE_LIMIT_STRAIGHT), ratio, 1e-9);
    assert_close(ratio_of(0.5, &same, KNEE_LIMIT_STRAIGHT), 0, 1e-9);
}

/* Two of them a short time dt apart, of opposite sign, are a step of C dt, of which level and line
 * leave n C^2 dt^2 / 16 (by integration).  A kink in the middle is even about it, a step odd, so
 * that either knee is told as well where the other is taken for granted; but beside another such
 * pair it is not.
 */
static void two_near_each_other_make_a_step(void **state) {
    const double noise = 0.5, apart = 0.01, n = 2 * reach / spacing;
    const knee_limit_knees pair = {{middle - 0.03, middle - 0.03 + apart}, {80, -80}, 2};
    const double at = middle, t = 0.3;
    const knee_limit_knees bumps = {{at, at + t, at + 2 * t, at + 3 * t}, {1, -1, 1, -1}, 4};
    const double step = 80 * apart / noise * sqrt(n / 16);
    assert_close(ratio_of(noise, &pair, KNEE_LIMIT_STRAIGHT_PAIRS), step, 0.05 * step);
    assert_close(ratio_of(noise, &pair, KNEE_LIMIT_STRAIGHT), step, 0.05 * step);
    assert_true(ratio_of(noise, &bumps, KNEE_LIMIT_STRAIGHT_PAIRS) >
                1.2 * ratio_of(noise, &bumps, KNEE_LIMIT_STRAIGHT));
}

/* The size that a fit of the change beside level and line gives, over its standard error, as often
 * over the threshold as the limit says: 4000 trials know the share to 0.024 (three standard
 * errors of a half). */
static void fits_find_it_as_often_as_the_limit_says(void **state) {
    enum { TRIALS = 4000, UNKNOWNS = 3, N = 81, FIRST = 160 };
    static double columns[UNKNOWNS * N], y[N], work[4 * UNKNOWNS * N];
    const double noise = 0.5, seconds = 20, threshold = 3.480756; /* tail 0.01 / 2 / 20 */
    const knee_limit_knees knees = {{middle}, {0.66}, 1};
    const double ratio = ratio_of(noise, &knees, KNEE_LIMIT_STRAIGHT);
    shot_random random = shot_random_at(43, 0);
    int found = 0;
    assert_true(shot_least_squares_workspace(N, UNKNOWNS) <= sizeof work / sizeof *work);
    for (int trial = 0; trial < TRIALS; trial++) {
        double x[UNKNOWNS], covariance[UNKNOWNS * UNKNOWNS];
        shot_least_squares fit;
        for (int i = 0; i < N; i++) {
            const double u = times[FIRST + i] - middle;
            columns[i] = 1;
            columns[N + i] = u;
            columns[2 * N + i] = fmax(u, 0);
            y[i] = 0.66 * fmax(u, 0) + noise * shot_random_normal(&random);
        }
        assert_int_equal(shot_least_squares_fit(columns, y, N, UNKNOWNS, work, x, covariance, &fit),
                         SHOT_OK);
        found += x[2] * fit.sd / sqrt(covariance[8]) > threshold * noise;
    }
    const double share = (double)found / TRIALS;
    assert_true(share > 0.3 && share < 0.7); /* where it tells most */
    assert_close(knee_limit_chance(ratio, seconds), share, 0.024);
}

/* Two knees in two logs, one sure and one hopeless: H = 2, M = 2, F = 0.02. */
static void f1_counts_what_is_missed_and_the_alarms(void **state) {
    const ideal_curves curves = log_with(1e-3);
    const knee_limit_knees knees = {{4, 16}, {5, 1e-9}, 2};
    knee_limit sums = {.knees = 0};
    for (int i = 0; i < 2; i++)
        knee_limit_add(&curves, times, ROWS, &knees, &sums);
    assert_close(knee_limit_f1(&sums, KNEE_LIMIT_STRAIGHT), 4 / (4 + 2 + 0.02), 1e-3);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_change_of_slope_has_the_textbook_ratio),
        cmocka_unit_test(others_hide_it_as_far_as_they_are_near),
        cmocka_unit_test(two_near_each_other_make_a_step),
        cmocka_unit_test(fits_find_it_as_often_as_the_limit_says),
        cmocka_unit_test(f1_counts_what_is_missed_and_the_alarms),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
