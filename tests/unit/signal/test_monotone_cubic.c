/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the published rule for the slopes, the samples themselves to the bit, no overshoot,
 * runs ended by a missing sample, independence of the window that a stream looks through, and the
 * same bits with places that are held for other channels. */
#include <support/check.h>

#include <shottrace/signal/monotone_cubic.h>
#include <shottrace/signal/random.h>
#include <signal/cubic_places.h>

/* Data set RPN 14 of Fritsch & Carlson 1980, 'Monotone piecewise cubic interpolation', SIAM J.
 * Numer. Anal. 17(2):238-246 (listing from memory).  Slopes and values: SciPy 1.10.1
 * PchipInterpolator, and the formula written out in Python; printed to 12 digits. */
static const double RPN_X[] = {7.99, 8.09, 8.19, 8.7, 9.2, 10, 12, 15, 20};
static const double RPN_Y[] = {0,       2.76429e-05, 0.0437498, 0.169183, 0.469428,
                               0.94374, 0.998636,    0.999919,  0.999994};

static void slopes_of_the_rpn_14_data(void **state) {
    const double slope[] = {0,
                            0.000552508681868,
                            0.335876834608,
                            0.349449167686,
                            0.596958238927,
                            0.060321845523,
                            0.000900395382769,
                            3.14246836304e-05,
                            0};
    for (size_t i = 0; i < 9; i++)
        assert_rel(shot_monotone_cubic_slope(RPN_X, RPN_Y, 9, i), slope[i], 1e-10);
}

static void values_of_the_rpn_14_data(void **state) {
    const double at[] = {8, 8.15, 8.5, 9, 9.5, 11, 13.5, 18};
    const double expected[] = {2.76743386319e-07, 0.0235282783658, 0.116632576939, 0.337534326846,
                               0.685217945111,    0.986043362535,  0.999603364012, 0.999982683848};
    double value[8];
    assert_int_equal(shot_monotone_cubic(RPN_X, RPN_Y, 9, at, 8, value), SHOT_OK);
    for (size_t k = 0; k < 8; k++)
        assert_rel(value[k], expected[k], 1e-10);
}

/* First example of Akima 1970, 'A new method of interpolation and smooth curve fitting based on
 * local procedures', J. ACM 17(4):589-602 (from memory).  SciPy 1.10.1 and Octave pchip agree. */
static const double AKIMA_X[] = {0, 2, 3, 5, 6, 8, 9, 11, 12, 14, 15};
static const double AKIMA_Y[] = {10, 10, 10, 10, 10, 10, 10.5, 15, 50, 60, 85};

static void values_of_the_akima_data(void **state) {
    const double at[] = {1, 4, 7, 8.5, 10, 11.5, 13, 14.5};
    const double expected[] = {
        10, 10, 10, 10.1544811321, 11.7695501325, 31.8925619835, 55.1363636364, 69.6666666667};
    double value[8];
    assert_int_equal(shot_monotone_cubic(AKIMA_X, AKIMA_Y, 11, at, 8, value), SHOT_OK);
    for (size_t k = 0; k < 8; k++)
        assert_close(value[k], expected[k], 1e-10);
}

static void slopes_of_the_akima_data(void **state) {
    const double slope[] = {
        0, 0, 0, 0, 0, 0, 0.764150943396, 4.68595041322, 9.54545454545, 9., 31.6666666667};
    for (size_t i = 0; i < 11; i++)
        assert_close(shot_monotone_cubic_slope(AKIMA_X, AKIMA_Y, 11, i), slope[i], 1e-10);
}

static void a_sample_comes_back_to_the_bit(void **state) {
    double value[9];
    assert_int_equal(shot_monotone_cubic(RPN_X, RPN_Y, 9, RPN_X, 9, value), SHOT_OK);
    for (size_t i = 0; i < 9; i++)
        assert_true(value[i] == RPN_Y[i]);
}

/* Random data, steep and flat: every value lies between the two samples around it. */
static void no_value_leaves_its_two_samples(void **state) {
    enum { N = 40, PER = 25 };
    shot_random random = shot_random_at(1, 0);
    for (int round = 0; round < 200; round++) {
        double t[N], y[N], at[PER], value[PER];
        for (size_t i = 0; i < N; i++) {
            t[i] = (i > 0 ? t[i - 1] : -3) + exp(3 * shot_random_normal(&random));
            y[i] = shot_random_chance(&random, 0.2) && i > 0
                       ? y[i - 1]
                       : 9 + exp(2 * shot_random_normal(&random));
        }
        for (size_t i = 0; i + 1 < N; i++) {
            for (size_t k = 0; k < PER; k++)
                at[k] = t[i] + (t[i + 1] - t[i]) * (double)k / PER;
            assert_int_equal(shot_monotone_cubic(t, y, N, at, PER, value), SHOT_OK);
            for (size_t k = 0; k < PER; k++)
                assert_true(value[k] >= fmin(y[i], y[i + 1]) && value[k] <= fmax(y[i], y[i + 1]));
        }
    }
}

static void two_samples_are_a_straight_line(void **state) {
    const double t[] = {1, 3}, y[] = {2, 8}, at[] = {1.5, 2, 2.5};
    double value[3];
    assert_int_equal(shot_monotone_cubic(t, y, 2, at, 3, value), SHOT_OK);
    assert_close(value[0], 3.5, 1e-14);
    assert_close(value[1], 5, 1e-14);
    assert_close(value[2], 6.5, 1e-14);
}

/* The two sides of a missing sample equal two separate runs, whatever lies beyond it. */
static void a_missing_sample_ends_a_run(void **state) {
    double y[11], value[5], alone[5];
    for (size_t i = 0; i < 11; i++)
        y[i] = i == 5 ? NAN : AKIMA_Y[i];
    const double left[] = {0, 1, 4, 4.5, 6}, right[] = {9, 10, 11.5, 13, 14.5};
    assert_int_equal(shot_monotone_cubic(AKIMA_X, y, 11, left, 5, value), SHOT_OK);
    assert_int_equal(shot_monotone_cubic(AKIMA_X, AKIMA_Y, 5, left, 5, alone), SHOT_OK);
    for (size_t k = 0; k < 5; k++)
        assert_true(value[k] == alone[k]);
    assert_int_equal(shot_monotone_cubic(AKIMA_X, y, 11, right, 5, value), SHOT_OK);
    assert_int_equal(shot_monotone_cubic(AKIMA_X + 6, AKIMA_Y + 6, 5, right, 5, alone), SHOT_OK);
    for (size_t k = 0; k < 5; k++)
        assert_true(value[k] == alone[k]);
    const double beside[] = {6.5, 8, 8.5};
    assert_int_equal(shot_monotone_cubic(AKIMA_X, y, 11, beside, 3, value), SHOT_OK);
    assert_true(isnan(value[0]) && isnan(value[1]) && isnan(value[2]));
}

/* Two samples on either side decide a value, so any window that holds them gives the same bits. */
static void a_window_of_four_samples_is_enough(void **state) {
    for (size_t i = 0; i + 1 < 9; i++) {
        const size_t first = i > 0 ? i - 1 : 0, last = i + 2 < 9 ? i + 2 : 8;
        const double at = 0.7 * RPN_X[i] + 0.3 * RPN_X[i + 1];
        double whole, window;
        assert_int_equal(shot_monotone_cubic(RPN_X, RPN_Y, 9, &at, 1, &whole), SHOT_OK);
        assert_int_equal(
            shot_monotone_cubic(RPN_X + first, RPN_Y + first, last - first + 1, &at, 1, &window),
            SHOT_OK);
        assert_true(whole == window);
    }
}

static void nothing_is_invented_outside(void **state) {
    const double at[] = {7, 21};
    double value[2];
    assert_int_equal(shot_monotone_cubic(RPN_X, RPN_Y, 9, at, 2, value), SHOT_OK);
    assert_true(isnan(value[0]) && isnan(value[1]));
    assert_int_equal(shot_monotone_cubic(RPN_X, RPN_Y, 0, at, 2, value), SHOT_OK);
    assert_true(isnan(value[0]) && isnan(value[1]));
}

static void times_that_do_not_rise_are_refused(void **state) {
    const double repeated[] = {0, 1, 1, 2}, falling[] = {1, 0};
    double value[4];
    assert_int_equal(shot_monotone_cubic(repeated, RPN_Y, 4, RPN_X, 4, value), SHOT_ERR_RANGE);
    assert_int_equal(shot_monotone_cubic(RPN_X, RPN_Y, 9, falling, 2, value), SHOT_ERR_RANGE);
}

enum { SAMPLES = 400, PLACES = 300 };

/* Channels with holes over the same uneven times, and places of which some lie outside, some on a
 * sample and some many to an interval: with places that are held, or found among more of them than
 * are, the bits are the same. */
static void held_places_change_nothing(void **state) {
    shot_random random = shot_random_at(812, 21);
    cubic_places places = {0};
    for (int trial = 0; trial < 300; trial++) {
        const size_t n = 1 + shot_random_below(&random, SAMPLES);
        const size_t m = 1 + shot_random_below(&random, PLACES), sets = trial % 3 == 0 ? 6 : 1;
        double t[SAMPLES], y[SAMPLES], at[PLACES], wanted[PLACES], value[PLACES];
        for (size_t i = 0; i < n; i++)
            t[i] = (double)i / 10 + shot_random_between(&random, 0, 0.09);
        for (size_t channel = 0; channel < 4; channel++)
            for (size_t set = 0; set < sets; set++) {
                const double step = 0.13 / (double)(set + 1 + (size_t)trial % 4);
                for (size_t i = 0; i < n; i++)
                    y[i] = shot_random_chance(&random, 0.02) ? NAN : shot_random_normal(&random);
                for (size_t k = 0; k < m; k++)
                    at[k] = -0.5 + step * (double)k;
                for (size_t k = 0, i = 0; k < m; k += 17) {
                    for (; i + 1 < n && t[i] < at[k]; i++) {
                    }
                    at[k] = t[i] >= at[k] && (k + 1 == m || t[i] <= at[k + 1]) ? t[i] : at[k];
                }
                assert_int_equal(shot_monotone_cubic(t, y, n, at, m, wanted), SHOT_OK);
                assert_int_equal(monotone_cubic_with(&places, t, y, n, at, m, value), SHOT_OK);
                assert_memory_equal(value, wanted, m * sizeof *value);
            }
    }
    const double falls[] = {1, 0}, at[] = {0.5};
    double value;
    assert_int_equal(monotone_cubic_with(&places, falls, at, 2, at, 1, &value), SHOT_ERR_RANGE);
    cubic_places_free(&places);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(slopes_of_the_rpn_14_data),
        cmocka_unit_test(values_of_the_rpn_14_data),
        cmocka_unit_test(values_of_the_akima_data),
        cmocka_unit_test(slopes_of_the_akima_data),
        cmocka_unit_test(a_sample_comes_back_to_the_bit),
        cmocka_unit_test(no_value_leaves_its_two_samples),
        cmocka_unit_test(two_samples_are_a_straight_line),
        cmocka_unit_test(a_missing_sample_ends_a_run),
        cmocka_unit_test(a_window_of_four_samples_is_enough),
        cmocka_unit_test(nothing_is_invented_outside),
        cmocka_unit_test(times_that_do_not_rise_are_refused),
        cmocka_unit_test(held_places_change_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
