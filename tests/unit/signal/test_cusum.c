/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: run lengths are those of the published approximation and of simulation, thresholds keep
 * their alarm rate, and the test of a finished series gives the published figures. */
#include <support/check.h>
#include <support/reference.h>

#include <shottrace/signal/cusum.h>
#include <shottrace/signal/random.h>

/* Montgomery 2009, 'Introduction to Statistical Quality Control', 6th ed., section 9.1 (from
 * memory): two sides, reference 1/2, threshold 5 give a run of 469.1 by Siegmund's approximation
 * and 465 exactly, and 10.4 after a shift of 1 SD; threshold 4 gives 168 and 8.38 exactly.  The
 * approximation is good to 2 % (the same source). */
static void run_lengths_are_the_published_ones(void **state) {
    assert_close(shot_cusum_run_length(0.5, 5, SHOT_CUSUM_BOTH, 0), 469.1, 0.05);
    assert_close(shot_cusum_run_length(0.5, 5, SHOT_CUSUM_BOTH, 0), 465, 0.02 * 465);
    assert_close(shot_cusum_run_length(0.5, 4, SHOT_CUSUM_BOTH, 0), 168, 0.02 * 168);
    assert_close(shot_cusum_run_length(0.5, 5, SHOT_CUSUM_BOTH, 1), 10.4, 0.02 * 10.4);
    assert_close(shot_cusum_run_length(0.5, 4, SHOT_CUSUM_BOTH, 1), 8.38, 0.02 * 8.38);
    /* without drift the closed form 0/0 has the limit b^2, and passes through it smoothly */
    assert_close(shot_cusum_run_length(0.5, 3, SHOT_CUSUM_ONE, 0.5), 4.166 * 4.166, 1e-9);
    assert_rel(shot_cusum_run_length(0.5, 3, SHOT_CUSUM_ONE, 0.5 + 2.3e-5),
               shot_cusum_run_length(0.5, 3, SHOT_CUSUM_ONE, 0.5 + 2.5e-5), 1e-5);
}

/* 2000 series of 300 samples at a rate of 5 %: 100 expected, binomial SD 9.7; Siegmund's
 * approximation and the exponential law of run lengths (the start at zero delays) cost up to a
 * quarter more: 60..130. */
static void a_threshold_keeps_its_alarm_rate(void **state) {
    for (int sides = 1; sides <= 2; sides++) {
        double threshold;
        assert_int_equal(shot_cusum_threshold(0.5, (shot_cusum_sides)sides, 300, 0.05, &threshold),
                         SHOT_OK);
        shot_random random = shot_random_at(9, (uint64_t)sides);
        int alarms = 0;
        for (int series = 0; series < 2000; series++) {
            shot_cusum cusum = {.reference = 0.5, .threshold = threshold};
            int alarm = 0;
            for (int i = 0; i < 300; i++) {
                int now = shot_cusum_push(&cusum, shot_random_normal(&random));
                alarm |= sides == 2 ? now != 0 : now > 0;
            }
            alarms += alarm;
        }
        print_message("%d sides: %d alarms in 2000\n", sides, alarms);
        assert_in_range(alarms, 60, 130);
    }
}

/* After a shift of 4 SD the first sample adds 3.5 to the sum: with threshold 5 the second alarms,
 * and the run tells that two samples are new.  A missing sample changes nothing. */
static void a_shift_is_dated(void **state) {
    shot_cusum cusum = {.reference = 0.5, .threshold = 5};
    for (int i = 0; i < 20; i++)
        assert_int_equal(shot_cusum_push(&cusum, i % 2 ? 0.4 : -0.4), 0);
    assert_int_equal(shot_cusum_push(&cusum, -4), 0);
    assert_int_equal(shot_cusum_push(&cusum, NAN), 0);
    assert_int_equal(shot_cusum_push(&cusum, -4), -1);
    assert_int_equal(cusum.down_run, 2);
    shot_cusum_reset(&cusum);
    assert_int_equal(shot_cusum_push(&cusum, NAN), 0);
    assert_close(cusum.threshold, 5, 0);
    assert_close(cusum.down, 0, 0);
}

/* The Nile (Zeileis, Kleiber, Kramer & Hornik 2003, R package strucchange): 2.951766102663 with
 * p = 5.41e-8; the largest cumulative sum stands after 28 observations. */
static void the_nile_is_not_level(void **state) {
    size_t n;
    double *y = reference_column("nile.csv", "flow_1e8_m3", &n);
    shot_cusum_test test;
    assert_int_equal(shot_cusum_ols(y, n, 1, &test), SHOT_OK);
    assert_rel(test.statistic, 2.951766102663, 1e-12);
    assert_close(test.p, 5.41e-8, 0.005e-8);
    assert_int_equal(test.at, 28);
    assert_int_equal(shot_cusum_ols(y, n, 4, &test), SHOT_OK);
    assert_rel(test.statistic, 2.951766102663 / 2, 1e-12);
    free(y);
}

/* Kolmogorov's distribution: P(K > 1.3581) = 0.05 (any table); and the two series agree where one
 * takes over from the other, at 1, where P = 0.26999967. */
static void the_probability_is_that_of_a_bridge(void **state) {
    const double wanted[] = {1.3581, 1.0 - 1e-9, 1.0 + 1e-9}, p[] = {0.05, 0.26999967, 0.26999967};
    for (int i = 0; i < 3; i++) {
        /* y = +1 for the first half and -1 for the second has the statistic 0.5 sqrt(n - 1) */
        double y[100], root = 0.5 * sqrt(99) / wanted[i];
        for (int k = 0; k < 100; k++)
            y[k] = k < 50 ? 1 : -1;
        shot_cusum_test test;
        assert_int_equal(shot_cusum_ols(y, 100, root * root, &test), SHOT_OK);
        assert_close(test.statistic, wanted[i], 1e-12);
        assert_close(test.p, p[i], i ? 1e-7 : 1e-5);
    }
}

static void what_cannot_be_tested_is_refused(void **state) {
    double y[3] = {2, 2, 2}, threshold;
    shot_cusum_test test;
    assert_int_equal(shot_cusum_ols(y, 3, 1, &test), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_cusum_ols(y, 3, 0, &test), SHOT_ERR_RANGE);
    assert_int_equal(shot_cusum_threshold(0, SHOT_CUSUM_ONE, 9, 0.1, &threshold), SHOT_ERR_RANGE);
    assert_int_equal(shot_cusum_threshold(1, SHOT_CUSUM_ONE, 9, 1, &threshold), SHOT_ERR_RANGE);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(run_lengths_are_the_published_ones),
        cmocka_unit_test(a_threshold_keeps_its_alarm_rate),
        cmocka_unit_test(a_shift_is_dated),
        cmocka_unit_test(the_nile_is_not_level),
        cmocka_unit_test(the_probability_is_that_of_a_bridge),
        cmocka_unit_test(what_cannot_be_tested_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
