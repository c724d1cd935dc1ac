/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: polynomials through jittered samples, the stated error for tones, no swing where
 * samples were lost, and independence of the window that a stream looks through. */
#include <support/check.h>

#include <shottrace/signal/lagrange.h>
#include <shottrace/signal/monotone_cubic.h>
#include <shottrace/signal/random.h>

#include "signal/pi.h"

enum { N = 60 };

static void jittered_times(double jitter, double *t) {
    shot_random random = shot_random_at(9, 0);
    for (size_t i = 0; i < N; i++)
        t[i] = (double)i + jitter * shot_random_between(&random, -1, 1);
}

static double polynomial(double t, int degree) {
    double y = 1;
    for (int k = 0; k < degree; k++)
        y = y * (t - 30) / 30 - 0.3;
    return y;
}

static void polynomials_of_degree_seven_inside(void **state) {
    double t[N], y[N];
    jittered_times(0.3, t);
    for (int degree = 0; degree <= 7; degree++) {
        for (size_t i = 0; i < N; i++)
            y[i] = polynomial(t[i], degree);
        for (double at = t[3]; at <= t[N - 4]; at += 0.237) {
            double value;
            assert_int_equal(shot_lagrange(t, y, N, &at, 1, &value), SHOT_OK);
            /* eight products of weights up to about 5 */
            assert_close(value, polynomial(at, degree), 1e-12);
        }
    }
}

static void straight_lines_to_the_ends(void **state) {
    double t[N], y[N];
    jittered_times(0.3, t);
    for (size_t i = 0; i < N; i++)
        y[i] = 4 - 0.5 * t[i];
    for (double at = t[0]; at <= t[N - 1]; at += 0.0911) {
        double value;
        assert_int_equal(shot_lagrange(t, y, N, &at, 1, &value), SHOT_OK);
        assert_close(value, 4 - 0.5 * at, 1e-12);
    }
}

/* Half way between even samples: (1 3 5 7)^2 / (2^8 8!) w^8 = w^8 / 936 to lowest order. */
static void the_error_for_a_tone(void **state) {
    const double w = 0.5;
    double t[N], y[N], worst = 0;
    for (size_t i = 0; i < N; i++) {
        t[i] = (double)i;
        y[i] = sin(w * t[i]);
    }
    for (double at = 10.5; at < 50; at++) {
        double value;
        shot_lagrange(t, y, N, &at, 1, &value);
        worst = fmax(worst, fabs(value - sin(w * at)));
    }
    assert_rel(worst, pow(w, 8) / 936, 0.1); /* the next order is w^2 / 3 of it; peaks missed */
}

static void a_sample_comes_back_and_nothing_is_invented(void **state) {
    double t[N], y[N], value[N];
    const double outside[] = {-2, 100};
    jittered_times(0.3, t);
    for (size_t i = 0; i < N; i++)
        y[i] = sin((double)i);
    assert_int_equal(shot_lagrange(t, y, N, t, N, value), SHOT_OK);
    for (size_t i = 0; i < N; i++)
        assert_true(value[i] == y[i]);
    assert_int_equal(shot_lagrange(t, y, N, outside, 2, value), SHOT_OK);
    assert_true(isnan(value[0]) && isnan(value[1]));
    y[20] = NAN;
    const double beside[] = {0.5 * (t[19] + t[20]), 0.5 * (t[20] + t[21]), 0.5 * (t[21] + t[22])};
    assert_int_equal(shot_lagrange(t, y, N, beside, 3, value), SHOT_OK);
    assert_true(isnan(value[0]) && isnan(value[1]));
    assert_close(value[2], 0.5 * (y[21] + y[22]), 0.3); /* a line through two samples */
}

/* Three samples lost on the flank of a step: the polynomial would swing, the monotone cubic stays
 * between its samples. */
static void lost_samples_are_bridged_without_a_swing(void **state) {
    const double t[] = {0, 1, 2, 3, 7, 8, 9, 10}, y[] = {0, 0, 0, 0, 9, 9, 9, 9};
    const double at[] = {3.5, 4, 5, 6, 6.5};
    double value[5], monotone[5];
    assert_int_equal(shot_lagrange(t, y, 8, at, 5, value), SHOT_OK);
    assert_int_equal(shot_monotone_cubic(t, y, 8, at, 5, monotone), SHOT_OK);
    for (int k = 0; k < 5; k++)
        assert_true(value[k] == monotone[k] && value[k] >= 0 && value[k] <= 9);
}

static void a_window_of_eight_samples_is_enough(void **state) {
    double t[N], y[N];
    jittered_times(0.45, t);
    for (size_t i = 0; i < N; i++)
        y[i] = i % 7 == 3 ? 5 : cos((double)i);
    for (size_t i = 0; i + 1 < N; i++) {
        const size_t first = i >= 3 ? i - 3 : 0, last = i + 4 < N ? i + 4 : N - 1;
        const double at = 0.7 * t[i] + 0.3 * t[i + 1];
        double whole, window;
        shot_lagrange(t, y, N, &at, 1, &whole);
        shot_lagrange(t + first, y + first, last - first + 1, &at, 1, &window);
        assert_true(whole == window);
    }
}

static void times_that_do_not_rise_are_refused(void **state) {
    const double repeated[] = {0, 1, 1, 2}, y[] = {0, 0, 0, 0}, falling[] = {1, 0};
    double value[4];
    assert_int_equal(shot_lagrange(repeated, y, 4, y, 4, value), SHOT_ERR_RANGE);
    assert_int_equal(shot_lagrange(y, y, 1, falling, 2, value), SHOT_ERR_RANGE);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(polynomials_of_degree_seven_inside),
        cmocka_unit_test(straight_lines_to_the_ends),
        cmocka_unit_test(the_error_for_a_tone),
        cmocka_unit_test(a_sample_comes_back_and_nothing_is_invented),
        cmocka_unit_test(lost_samples_are_bridged_without_a_swing),
        cmocka_unit_test(a_window_of_eight_samples_is_enough),
        cmocka_unit_test(times_that_do_not_rise_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
