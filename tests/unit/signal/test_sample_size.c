/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the numbers of shots that settle a question, and what they rest on. */
#include <support/check.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/moments.h>
#include <shottrace/signal/random.h>
#include <shottrace/signal/sample_size.h>
#include <shottrace/signal/two_sample.h>

/* R 4.2.2 power.t.test with both tails (strict): 20 a side find a difference of one sigma with
 * power 0.868953027724586, 10 a side find 1.5 sigma with 0.886970202255284.  80 % power takes 16.7
 * and 63.8 a side.  1e-10: what either noncentral t promises. */
static void power_and_number_agree_with_the_reference(void **state) {
    assert_close(shot_sample_size_detect_power(1, 1, 20, 20, 0.05), 0.868953027724586, 1e-10);
    assert_close(shot_sample_size_detect_power(-1.5, 1, 10, 10, 0.05), 0.886970202255284, 1e-10);
    size_t n;
    assert_int_equal(shot_sample_size_detect(1, 1, 0.05, 0.8, &n), SHOT_OK);
    assert_int_equal(n, 17);
    assert_int_equal(shot_sample_size_detect(-0.5, 1, 0.05, 0.8, &n), SHOT_OK);
    assert_int_equal(n, 64);
}

/* Without a difference the test finds one with the chance alpha. */
static void power_without_a_difference_is_alpha(void **state) {
    assert_close(shot_sample_size_detect_power(0, 2, 5, 9, 0.05), 0.05, 1e-10);
}

/* The same integral by adaptive quadrature in R 4.2.2 (integrate, relative tolerance 1e-10). */
static void equivalence_power_agrees_with_quadrature(void **state) {
    assert_close(shot_sample_size_equivalence_power(1, 0, 1, 20, 20, 0.05), 0.855804946790615,
                 1e-6);
    assert_close(shot_sample_size_equivalence_power(1, 0.3, 1, 20, 20, 0.05), 0.693223695100229,
                 1e-6);
    size_t n;
    assert_int_equal(shot_sample_size_equivalence(1, 1, 0.05, 0.8, &n), SHOT_OK);
    assert_int_equal(n, 18); /* 0.7730 with 17, 0.8045 with 18 */
}

/* Small groups, where the scatter seen varies most: against tests of simulated groups.  2000 of
 * them, so the binomial error is at most 0.011; four of them are allowed. */
static void equivalence_power_holds_in_simulation(void **state) {
    enum { RUNS = 2000, N = 4 };
    int passed = 0;
    for (uint64_t run = 0; run < RUNS; run++) {
        shot_random random = shot_random_at(11, run);
        double a[N], b[N], p = 1;
        for (int i = 0; i < N; i++) {
            a[i] = shot_random_normal(&random);
            b[i] = shot_random_normal(&random) + 0.5;
        }
        shot_moments ma = shot_moments_find(a, N), mb = shot_moments_find(b, N);
        shot_t_test test;
        assert_int_equal(shot_two_sample_pooled(&ma, &mb, 0.9, &test), SHOT_OK);
        assert_int_equal(shot_two_sample_equivalence(&test, 2, &p), SHOT_OK);
        passed += p <= 0.05;
    }
    double power = shot_sample_size_equivalence_power(2, 0.5, 1, N, N, 0.05);
    assert_close((double)passed / RUNS, power, 4 * sqrt(power * (1 - power) / RUNS));
}

/* What can be found with 17 and 12 is what has that power, in units of the scatter. */
static void detectable_difference_has_its_power(void **state) {
    double difference;
    assert_int_equal(shot_sample_size_detectable(2.5, 17, 12, 0.05, 0.8, &difference), SHOT_OK);
    assert_close(shot_sample_size_detect_power(difference, 2.5, 17, 12, 0.05), 0.8, 1e-8);
    /* R 4.2.2: power.t.test(n = 4, power = 0.8, strict = TRUE)$delta = 2.38075421,
     * found there to about 1e-5. */
    assert_int_equal(shot_sample_size_detectable(1, 4, 4, 0.05, 0.8, &difference), SHOT_OK);
    assert_close(difference, 2.38075421, 2e-5);
    assert_int_equal(shot_sample_size_detectable(1, 1, 1, 0.05, 0.8, &difference), SHOT_ERR_RANGE);
}

/* Interval by hand: chi-square(10) quantiles 3.2469727802 and 20.4831773508. */
/* R 4.2.2, power.t.test(type = "paired", strict = TRUE): 12 pairs; 33.37 of them for a power of
 * 0.8. */
static void pairs_agree_with_the_reference(void **state) {
    double difference;
    size_t pairs;
    assert_rel(shot_sample_size_detect_power_of_pairs(0.8, 1, 12, 0.05), 0.7136600656, 1e-8);
    assert_int_equal(shot_sample_size_detect_pairs(0.5, 1, 0.05, 0.8, &pairs), SHOT_OK);
    assert_int_equal(pairs, 34);
    assert_int_equal(shot_sample_size_detectable_pairs(2, 12, 0.05, 0.7136600656, &difference),
                     SHOT_OK);
    assert_rel(difference, 1.6, 1e-7);
    /* large numbers need what two groups of half the variance do */
    size_t groups;
    assert_int_equal(shot_sample_size_equivalence_pairs(0.1, 1, 0.05, 0.8, &pairs), SHOT_OK);
    assert_int_equal(shot_sample_size_equivalence(0.1, sqrt(0.5), 0.05, 0.8, &groups), SHOT_OK);
    assert_true(pairs >= groups && pairs <= groups + 2);
    assert_int_equal(shot_sample_size_equivalence_pairs(0, 1, 0.05, 0.8, &pairs), SHOT_ERR_RANGE);
    assert_true(isnan(shot_sample_size_detect_power_of_pairs(1, 1, 1, 0.05)));
    assert_int_equal(shot_sample_size_detectable_pairs(1, 1, 0.05, 0.8, &difference),
                     SHOT_ERR_RANGE);
}

static void scatter_has_its_chi_square_interval(void **state) {
    double low, high;
    assert_int_equal(shot_sample_size_sigma(2, 10, 0.95, &low, &high), SHOT_OK);
    assert_rel(low, 2 * sqrt(10 / 20.4831773508), 1e-9);
    assert_rel(high, 2 * sqrt(10 / 3.2469727802), 1e-9);
    assert_int_equal(shot_sample_size_sigma(2, 0, 0.95, &low, &high), SHOT_ERR_RANGE);
}

static void impossible_questions_are_refused(void **state) {
    size_t n;
    assert_int_equal(shot_sample_size_detect(0, 1, 0.05, 0.8, &n), SHOT_ERR_RANGE);
    assert_int_equal(shot_sample_size_detect(1, 0, 0.05, 0.8, &n), SHOT_ERR_RANGE);
    assert_int_equal(shot_sample_size_detect(1, 1, 0.05, 0.04, &n), SHOT_ERR_RANGE);
    assert_int_equal(shot_sample_size_equivalence(-1, 1, 0.05, 0.8, &n), SHOT_ERR_RANGE);
    assert_int_equal(shot_sample_size_detect(1e-6, 1, 0.05, 0.8, &n), SHOT_ERR_SINGULAR);
    assert_true(isnan(shot_sample_size_detect_power(1, 1, 0, 5, 0.05)));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(power_and_number_agree_with_the_reference),
        cmocka_unit_test(power_without_a_difference_is_alpha),
        cmocka_unit_test(equivalence_power_agrees_with_quadrature),
        cmocka_unit_test(equivalence_power_holds_in_simulation),
        cmocka_unit_test(detectable_difference_has_its_power),
        cmocka_unit_test(pairs_agree_with_the_reference),
        cmocka_unit_test(scatter_has_its_chi_square_interval),
        cmocka_unit_test(impossible_questions_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
