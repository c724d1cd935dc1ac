/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: t tests, effect size and equivalence against published data. */
#include <support/reference.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/two_sample.h>

enum { SLEEPERS = 10 };

/* Cushny & Peebles 1905, the data of Student 1908. */
static double *sleep_data(void) {
    size_t n;
    double *extra = reference_column("sleep.csv", "extra", &n);
    assert_int_equal(n, 2 * SLEEPERS);
    return extra;
}

static void check(const shot_t_test *test, double t, double df, double p, double low, double high) {
    assert_rel(test->t, t, 1e-10);
    assert_rel(test->df, df, 1e-10);
    assert_rel(test->p, p, 1e-10);
    assert_rel(test->low, low, 1e-10);
    assert_rel(test->high, high, 1e-10);
}

/* R 4.2.2 t.test, whose documentation prints t = -1.8608, df = 17.776, p = 0.07939 for Welch. */
static void sleep_data_give_the_known_tests(void **state) {
    double *x = sleep_data();
    shot_moments a = shot_moments_find(x, SLEEPERS), b = shot_moments_find(x + SLEEPERS, SLEEPERS);
    shot_t_test test;
    assert_int_equal(shot_two_sample_welch(&a, &b, 0.95, &test), SHOT_OK);
    check(&test, -1.86081346748685, 17.7764735161785, 0.0793941401873582, -3.36548323071171,
          0.20548323071171);
    assert_int_equal(shot_two_sample_pooled(&a, &b, 0.95, &test), SHOT_OK);
    check(&test, -1.86081346748685, 18, 0.0791867142159382, -3.363874032287598, 0.203874032287599);
    assert_int_equal(shot_two_sample_paired(x, x + SLEEPERS, SLEEPERS, 0.95, &test), SHOT_OK);
    check(&test, -4.06212768338204, 9, 0.00283289019738427, -2.459885763276982, -0.700114236723018);
    free(x);
}

/* Mouse survival: Efron & Tibshirani 1993, 'An Introduction to the Bootstrap', Table 2.1. */
static void unequal_groups_give_the_known_tests(void **state) {
    const double treated[] = {94, 197, 16, 38, 99, 141, 23};
    const double control[] = {52, 104, 146, 10, 51, 30, 40, 27, 46};
    shot_moments a = shot_moments_find(treated, 7), b = shot_moments_find(control, 9);
    shot_t_test test;
    assert_int_equal(shot_two_sample_pooled(&a, &b, 0.95, &test), SHOT_OK);
    assert_rel(test.difference, 30.6349206349, 1e-11);
    assert_rel(test.t, 1.12084539912, 1e-10);
    assert_rel(test.p, 0.281212584795, 1e-10);
    assert_int_equal(shot_two_sample_welch(&a, &b, 0.95, &test), SHOT_OK);
    assert_rel(test.t, 1.05871058738, 1e-10);
    assert_rel(test.p, 0.315500654123, 1e-10);
}

/* g is J t sqrt(1/n + 1/m); J(18) by Hedges' exact formula, Gamma(9)/(3 Gamma(8.5)).  Each end of
 * the interval makes the observed t as extreme as the level says. */
static void effect_size_is_corrected_and_its_interval_inverts_the_noncentral_t(void **state) {
    double *x = sleep_data();
    shot_moments a = shot_moments_find(x, SLEEPERS), b = shot_moments_find(x + SLEEPERS, SLEEPERS);
    free(x);
    shot_effect_size effect;
    assert_int_equal(shot_two_sample_hedges(&a, &b, 0.95, &effect), SHOT_OK);
    double root = sqrt(0.2), t = -1.86081346748685;
    assert_rel(effect.g, t * root * tgamma(9) / (3 * tgamma(8.5)), 1e-12);
    assert_close(shot_noncentral_student_cdf(t, 18, effect.low / root), 0.975, 1e-8);
    assert_close(shot_noncentral_student_cdf(t, 18, effect.high / root), 0.025, 1e-8);
}

/* Equivalence holds at alpha exactly where the 1 - 2 alpha interval touches the margin. */
static void equivalence_agrees_with_the_ninety_percent_interval(void **state) {
    const shot_moments a = {8, 10.3, 0.5}, b = {9, 10.1, 0.7};
    shot_t_test test;
    assert_int_equal(shot_two_sample_welch(&a, &b, 0.90, &test), SHOT_OK);
    double p;
    assert_int_equal(shot_two_sample_equivalence(&test, test.high, &p), SHOT_OK);
    assert_rel(p, 0.05, 1e-10);
    assert_int_equal(shot_two_sample_equivalence(&test, test.high + 0.1, &p), SHOT_OK);
    assert_true(p < 0.05);
    assert_int_equal(shot_two_sample_equivalence(&test, 0, &p), SHOT_ERR_RANGE);
}

/* The everyday case: one shot against the usual ones, with their scatter. */
static void one_value_stands_against_a_group(void **state) {
    const shot_moments one = {1, 12, NAN}, usual = {9, 10, 1};
    shot_t_test test;
    assert_int_equal(shot_two_sample_welch(&one, &usual, 0.95, &test), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_two_sample_pooled(&one, &usual, 0.95, &test), SHOT_OK);
    assert_rel(test.se, sqrt(1 + 1.0 / 9), 1e-15);
    assert_rel(test.df, 8, 0);
}

/* A difference of millions of scatters: still an answer, and at once. */
static void a_huge_effect_has_its_interval(void **state) {
    const shot_moments a = {4, 1, 1e-9}, b = {4, 2, 1e-9};
    shot_effect_size effect;
    assert_int_equal(shot_two_sample_hedges(&a, &b, 0.95, &effect), SHOT_OK);
    assert_true(effect.low < effect.g && effect.g < effect.high && effect.high < 0);
    /* t/delta is 1/scatter: the ends are t sqrt(chi-square/df) at 6 degrees of freedom. */
    double t = -1 / (1e-9 * sqrt(0.5));
    assert_rel(effect.low, t * sqrt(0.5) * sqrt(shot_chi_square_quantile(0.975, 6) / 6), 1e-6);
}

static void groups_without_scatter_are_refused(void **state) {
    const shot_moments a = {3, 1, 0}, b = {3, 2, 0}, one = {1, 1, NAN};
    shot_t_test test;
    shot_effect_size effect;
    assert_int_equal(shot_two_sample_welch(&a, &b, 0.95, &test), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_two_sample_pooled(&a, &b, 0.95, &test), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_two_sample_pooled(&one, &one, 0.95, &test), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_two_sample_hedges(&a, &b, 0.95, &effect), SHOT_ERR_SINGULAR);
    const shot_moments c = {3, 1, 1};
    assert_int_equal(shot_two_sample_welch(&c, &b, 1, &test), SHOT_ERR_RANGE);
    assert_int_equal(shot_two_sample_paired((double[]){1, NAN}, (double[]){1, 2}, 2, 0.95, &test),
                     SHOT_ERR_SINGULAR);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sleep_data_give_the_known_tests),
        cmocka_unit_test(unequal_groups_give_the_known_tests),
        cmocka_unit_test(effect_size_is_corrected_and_its_interval_inverts_the_noncentral_t),
        cmocka_unit_test(equivalence_agrees_with_the_ninety_percent_interval),
        cmocka_unit_test(one_value_stands_against_a_group),
        cmocka_unit_test(a_huge_effect_has_its_interval),
        cmocka_unit_test(groups_without_scatter_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
