/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the slope of several people's own lines, and that it is no surer than their number. */
#include <support/check.h>

#include <shottrace/signal/mean_slope.h>
#include <shottrace/signal/random.h>

/* Potthoff & Roy 1964, Biometrika 51:313-326 (R's nlme, Orthodont): a distance of eleven girls at
 * the ages of 8, 10, 12 and 14. */
enum { GIRLS = 11, AGES = 4 };
static const double distances[GIRLS * AGES] = {
    21,   20,   21.5, 23,   21,   21.5, 24,   25.5, 20.5, 24,   24.5, 26, 23.5, 24.5, 25,
    26.5, 21.5, 23,   22.5, 23.5, 20,   21,   21,   22.5, 21.5, 22.5, 23, 25,   23,   23,
    23.5, 24,   20,   21,   22,   21.5, 16.5, 19,   19,   19.5, 24.5, 25, 28,   28};

static void fill(double *x, size_t *group) {
    for (size_t i = 0; i < GIRLS * AGES; i++) {
        x[i] = 8 + 2 * (double)(i % AGES);
        group[i] = 7 * (i / AGES); /* labels need not follow each other */
    }
}

/* R 4.2.2: t.test(coef(lmList(distance ~ age | Subject, girls))[, 2]). */
static void slopes_of_people_are_as_in_r(void **state) {
    double x[GIRLS * AGES];
    size_t group[GIRLS * AGES];
    shot_slope s;
    fill(x, group);
    assert_int_equal(shot_mean_slope_find(x, distances, group, GIRLS * AGES, 0.95, &s), SHOT_OK);
    assert_rel(s.slope, 0.479545454545, 1e-11);
    assert_rel(s.se, 0.0662140281259, 1e-11);
    assert_rel(s.df, 10, 0);
    assert_rel(s.p, 2.78347213e-05, 1e-8);
    assert_rel(s.low, 0.332011405932, 1e-10);
    assert_rel(s.high, 0.627079503159, 1e-10);
}

/* A pair that is missing, and one of a group of its own, which has no slope. */
static void what_has_no_slope_is_left_out(void **state) {
    const double x[] = {1, 2, 3, 1, 3, NAN, 5}, y[] = {1, 2, 3, 1, 7, 99, 99};
    const size_t group[] = {0, 0, 0, 1, 1, 1, 2};
    shot_slope s;
    assert_int_equal(shot_mean_slope_find(x, y, group, 7, 0.95, &s), SHOT_OK);
    assert_rel(s.slope, 2, 1e-14);
    assert_rel(s.df, 1, 0);
    assert_int_equal(shot_mean_slope_find(x, y, group, 3, 0.95, &s), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_mean_slope_find(x, y, group, 0, 0.95, &s), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_mean_slope_find(x, y, group, 7, 1, &s), SHOT_ERR_RANGE);
}

/* Six students at five settings, whose own slopes scatter by 0.3 about none, a shot by 0.3: one
 * slope for all calls many of these sweeps a rise or a fall, the mean of slopes one in twenty. */
static void slopes_unlike_each_other_raise_no_more_alarms(void **state) {
    enum { STUDENTS = 6, SETTINGS = 5, COUNT = STUDENTS * SETTINGS };
    enum { RUNS = 4000 };
    int one = 0, mean = 0;
    for (int run = 0; run < RUNS; run++) {
        shot_random random = shot_random_at(11, (uint64_t)run);
        double x[COUNT], y[COUNT], own = 0;
        size_t student[COUNT];
        shot_slope s;
        for (size_t i = 0; i < COUNT; i++) {
            if (i % SETTINGS == 0)
                own = 0.3 * shot_random_normal(&random);
            x[i] = (double)(i % SETTINGS);
            student[i] = i / SETTINGS;
            y[i] = own * x[i] + 0.3 * shot_random_normal(&random);
        }
        assert_int_equal(shot_trend_slope(x, y, student, COUNT, 0.95, &s), SHOT_OK);
        one += s.p <= 0.05;
        assert_int_equal(shot_mean_slope_find(x, y, student, COUNT, 0.95, &s), SHOT_OK);
        mean += s.p <= 0.05;
    }
    print_message("of %d: %d by one slope, %d by the mean of slopes\n", RUNS, one, mean);
    assert_true(one > RUNS * 15 / 100);
    assert_in_range(mean, RUNS * 4 / 100, RUNS * 6 / 100); /* the binomial error is 0.34 % */
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(slopes_of_people_are_as_in_r),
        cmocka_unit_test(what_has_no_slope_is_left_out),
        cmocka_unit_test(slopes_unlike_each_other_raise_no_more_alarms),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
