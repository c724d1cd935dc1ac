/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the four published probabilities to nine digits, also where they are tiny. */
#include <support/check.h>

#include <shottrace/signal/false_alarm.h>

/* Times of the twelve-point vector of test_lomb_scargle.c; frequencies up to 0.8. */
static const double T[] = {0, 0.7, 1.1, 2.4, 3, 3.9, 4.2, 5.5, 6.1, 7.3, 8, 9.6};
enum { N = 12 };

static double variance(void) {
    double mean = 0, sum = 0;
    for (int i = 0; i < N; i++)
        mean += T[i] / N;
    for (int i = 0; i < N; i++)
        sum += (T[i] - mean) * (T[i] - mean);
    return sum / N;
}

/* The formulas of Baluev 2008 as astropy 5.2.1 evaluates them, without its rounding of the highest
 * frequency. */
static void probabilities_of_twelve_points(void **state) {
    const double expected[][5] = {
        {0.5, 0.04419417382, 0.2932934896, 0.8435199019, 0.5702390802},
        {0.7, 0.004436552716, 0.03357205138, 0.127008987, 0.1192829359},
        {0.9, 3.16227766e-05, 0.0002428372746, 0.001747475574, 0.001745950127},
        {0.975616522014, 5.519890146e-08, 4.239274851e-07, 6.370309404e-06, 6.370289115e-06},
    };
    for (int k = 0; k < 4; k++) {
        const double z = expected[k][0];
        /* ten printed digits; the last row's z has twelve, and (1 - z)^4.5 multiplies its error */
        const double tolerance = k == 3 ? 1e-9 : 3e-10;
        assert_rel(shot_false_alarm_single(z, N), expected[k][1], tolerance);
        assert_rel(shot_false_alarm_naive(z, N, 0.8, 9.6), expected[k][2], tolerance);
        assert_rel(shot_false_alarm_davies(z, N, 0.8, variance()), expected[k][3], tolerance);
        assert_rel(shot_false_alarm_baluev(z, N, 0.8, variance()), expected[k][4], tolerance);
    }
}

/* Scargle 1982: for 100 independent frequencies the 1 % level is 9.2054, the 0.1 % level 11.512. */
static void levels_for_known_noise(void **state) {
    assert_close(shot_false_alarm_known_level(0.01, 100), 9.205369664, 1e-9);
    assert_close(shot_false_alarm_known_level(0.001, 100), 11.51243026, 1e-8);
    assert_rel(shot_false_alarm_known(9.205369664, 100), 0.01, 1e-9);
    assert_rel(shot_false_alarm_known(60, 1), exp(-60), 1e-14); /* tiny, and not 0 */
}

static void ends_of_the_range(void **state) {
    assert_close(shot_false_alarm_baluev(0, N, 0.8, 10), 1, 0);
    assert_close(shot_false_alarm_baluev(1, N, 0.8, 10), 0, 0);
    assert_true(isnan(shot_false_alarm_single(-0.1, N)));
    assert_true(isnan(shot_false_alarm_naive(1.1, N, 0.8, 10)));
    assert_true(isnan(shot_false_alarm_davies(0.5, 4, 0.8, 10)));
    assert_true(isnan(shot_false_alarm_baluev(NAN, N, 0.8, 10)));
    assert_true(isnan(shot_false_alarm_known(-1, 10)));
    assert_true(isnan(shot_false_alarm_known_level(0, 10)));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(probabilities_of_twelve_points),
        cmocka_unit_test(levels_for_known_noise),
        cmocka_unit_test(ends_of_the_range),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
