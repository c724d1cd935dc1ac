/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: drift with order, told from a difference between groups. */
#include <support/check.h>

#include <shottrace/signal/random.h>
#include <shottrace/signal/trend.h>

/* R 4.2.2, lm(y ~ g + x): slope 0.995, standard error 0.0523927475897189, 5 degrees of freedom. */
static void common_slope_is_that_of_the_covariance_analysis(void **state) {
    const double x[] = {1, 2, 3, 4, 9, 5, 6, 7, 8};
    const double y[] = {1.1, 1.9, 3.2, 4.0, NAN, 7.0, 8.2, 8.8, 10.1};
    const size_t group[] = {7, 7, 7, 7, 7, 3, 3, 3, 3};
    shot_slope s;
    assert_int_equal(shot_trend_slope(x, y, group, 9, 0.95, &s), SHOT_OK);
    assert_rel(s.slope, 0.995, 1e-12);
    assert_rel(s.se, 0.0523927475897189, 1e-12);
    assert_rel(s.df, 5, 0);
    assert_rel(s.t, 18.991178088076694, 1e-12);
    assert_rel(s.p, 7.45982319148095e-06, 1e-10);
    assert_rel(s.low, 0.860320154726791, 1e-12);
    assert_rel(s.high, 1.129679845273209, 1e-12);
}

static void slopes_without_an_answer_are_refused(void **state) {
    const double x[] = {1, 2, 3, 4}, line[] = {2, 4, 6, 8}, y[] = {1, 3, 2, 5};
    const size_t pairs[] = {0, 0, 1, 1};
    shot_slope s;
    assert_int_equal(shot_trend_slope(x, line, NULL, 4, 0.95, &s), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_trend_slope(y, y, NULL, 2, 0.95, &s), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_trend_slope((double[]){1, 1, 1, 1}, y, NULL, 4, 0.95, &s),
                     SHOT_ERR_SINGULAR);
    assert_int_equal(shot_trend_slope(x, y, pairs, 4, 0.95, &s),
                     SHOT_OK); /* one left for scatter */
    assert_int_equal(shot_trend_slope(x, y, NULL, 4, 1.2, &s), SHOT_ERR_RANGE);
}

/* R 4.2.2, cor.test(method = "kendall"): tau 0.714285714285714, exact p 0.0301587301587. */
static void rank_trend_agrees_with_kendalls_test(void **state) {
    const double y[] = {9.1, 9.4, 9.2, 9.9, 9.7, 10.4, 10.1};
    shot_mann_kendall test;
    assert_int_equal(shot_trend_mann_kendall(y, 7, 0.95, &test), SHOT_OK);
    assert_true(test.exact);
    assert_rel(test.s, 15, 0);
    assert_rel(test.tau, 5.0 / 7, 1e-14);
    assert_rel(test.p, 0.0301587301587, 1e-11);
    assert_true(test.low <= test.slope && test.slope <= test.high);
    assert_true(test.low > 0); /* p < 0.05 and a 95 % interval without 0 go together */
}

/* With ties the normal form, by hand: 1 1 2 3 has s = 5, variance (4*3*13 - 2*1*9)/18 = 23/3,
 * z = 4/sqrt(23/3) = 1.44463, p = 0.14856. */
static void ties_use_the_corrected_variance(void **state) {
    shot_mann_kendall test;
    assert_int_equal(shot_trend_mann_kendall((double[]){1, 1, NAN, 2, 3}, 5, 0.95, &test), SHOT_OK);
    assert_false(test.exact);
    assert_rel(test.s, 5, 0);
    assert_rel(test.p, erfc(4 / sqrt(23.0 / 3) / sqrt(2)), 1e-12);
    assert_int_equal(shot_trend_mann_kendall((double[]){2, 2, 2}, 3, 0.95, &test), SHOT_OK);
    assert_rel(test.p, 1, 0);
    assert_int_equal(shot_trend_mann_kendall((double[]){2, NAN, 2}, 3, 0.95, &test),
                     SHOT_ERR_SINGULAR);
}

/* The unit of the values is the unit of the slope, however large: lines through them do not
 * overflow.  A power of two changes no digit. */
static void large_values_have_large_slopes(void **state) {
    const double y[] = {1, 3, 2, 5, 4, 4, 7, 6, 9, 8};
    double large[10];
    shot_mann_kendall plain, m;
    assert_int_equal(shot_trend_mann_kendall(y, 10, 0.95, &plain), SHOT_OK);
    for (int power = 400; power <= 1000; power += 300) {
        for (int i = 0; i < 10; i++)
            large[i] = ldexp(y[i], power);
        assert_int_equal(shot_trend_mann_kendall(large, 10, 0.95, &m), SHOT_OK);
        assert_rel(m.s, plain.s, 0);
        assert_rel(m.p, plain.p, 0);
        assert_rel(m.slope, ldexp(plain.slope, power), 0);
        assert_rel(m.low, ldexp(plain.low, power), 0);
        assert_rel(m.high, ldexp(plain.high, power), 0);
    }
}

/* Simulation: without a trend both tests alarm in 5 % of 2000 series of 10 (binomial error 0.0049;
 * the exact test is discrete and may stay below), and the interval covers the true slope. */
static void false_alarms_and_coverage_hold(void **state) {
    enum { RUNS = 2000, N = 10 };
    int alarms = 0, rank_alarms = 0, covered = 0;
    for (uint64_t run = 0; run < RUNS; run++) {
        shot_random random = shot_random_at(5, run);
        double x[N], y[N];
        for (int i = 0; i < N; i++) {
            x[i] = i;
            y[i] = 0.3 * i + shot_random_normal(&random);
        }
        shot_mann_kendall rank;
        assert_int_equal(shot_trend_mann_kendall(y, N, 0.95, &rank), SHOT_OK);
        covered += rank.low <= 0.3 && 0.3 <= rank.high;
        for (int i = 0; i < N; i++)
            y[i] -= 0.3 * i;
        shot_slope slope;
        assert_int_equal(shot_trend_slope(x, y, NULL, N, 0.95, &slope), SHOT_OK);
        assert_int_equal(shot_trend_mann_kendall(y, N, 0.95, &rank), SHOT_OK);
        alarms += slope.p <= 0.05;
        rank_alarms += rank.p <= 0.05;
    }
    double error = 4 * sqrt(0.05 * 0.95 / RUNS);
    assert_close((double)alarms / RUNS, 0.05, error);
    assert_true((double)rank_alarms / RUNS <= 0.05 + error);
    assert_true((double)covered / RUNS >= 0.95 - error);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(common_slope_is_that_of_the_covariance_analysis),
        cmocka_unit_test(slopes_without_an_answer_are_refused),
        cmocka_unit_test(rank_trend_agrees_with_kendalls_test),
        cmocka_unit_test(ties_use_the_corrected_variance),
        cmocka_unit_test(large_values_have_large_slopes),
        cmocka_unit_test(false_alarms_and_coverage_hold),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
