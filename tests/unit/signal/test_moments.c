/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the digits of mean, scatter and autocorrelation, on data made to lose them. */
#include <support/reference.h>

#include <shottrace/signal/moments.h>

enum { NUMACC = 1001 };

/* NIST StRD NumAcc2 to NumAcc4: one middle value, then 500 pairs of low and high. */
static void numacc(double *x, double middle, double low, double high) {
    x[0] = middle;
    for (int i = 1; i < NUMACC; i += 2) {
        x[i] = low;
        x[i + 1] = high;
    }
}

static void check(const double *x, size_t n, double mean, double sd, double sd_tolerance,
                  double lag1, double lag1_tolerance) {
    shot_moments m = shot_moments_find(x, n);
    assert_int_equal(m.n, n);
    assert_rel(m.mean, mean, 1e-13);
    assert_rel(m.sd, sd, sd_tolerance);
    assert_rel(shot_moments_lag1(x, n), lag1, lag1_tolerance);
}

/* National Institute of Standards and Technology, Statistical Reference Datasets, univariate:
 * certified to 15 digits.  NumAcc3 and NumAcc4 lose digits when their decimals become doubles
 * (about 1e-10 and 1e-9 in the pairs), which no algorithm can bring back: 1e-9 and 1e-8. */
static void nist_accuracy_sets_keep_their_digits(void **state) {
    double x[NUMACC];
    check((double[]){10000001, 10000003, 10000002}, 3, 10000002, 1, 1e-13, -0.5, 1e-10);
    numacc(x, 1.2, 1.1, 1.3);
    check(x, NUMACC, 1.2, 0.1, 1e-13, -0.999, 1e-10);
    numacc(x, 1000000.2, 1000000.1, 1000000.3);
    check(x, NUMACC, 1000000.2, 0.1, 1e-9, -0.999, 1e-10);
    numacc(x, 10000000.2, 10000000.1, 10000000.3);
    check(x, NUMACC, 10000000.2, 0.1, 1e-8, -0.999, 1e-8);
}

/* The measured NIST sets; certified values.  SD of Michelso and Mavro to 1e-12: three to four
 * digits of their values are common to all. */
static void nist_measured_sets_have_their_certified_values(void **state) {
    size_t n;
    double *x = reference_column("nist_lew.csv", "deflection", &n);
    check(x, n, -177.435, 277.332168044316, 1e-13, -0.307304800605679, 1e-10);
    free(x);
    x = reference_column("nist_mavro.csv", "transmittance", &n);
    check(x, n, 2.001856, 0.000429123454003053, 1e-12, 0.937989183438248, 1e-10);
    free(x);
    x = reference_column("morley.csv", "speed_minus_299000_km_s", &n);
    for (size_t i = 0; i < n; i++)
        x[i] = (299000 + x[i]) / 1000;
    check(x, n, 299.8524, 0.0790105478190518, 1e-12, 0.535199668621283, 1e-10);
    free(x);
}

/* 1e308 and 1.2e308 add up to more than the largest double, and squares do from 1e154 on. */
static void values_near_the_largest_double_have_a_mean_and_a_scatter(void **state) {
    static const double x[] = {1e308, 1.2e308, 1.7e308}, middling[] = {-1e160, 2e160, 5e160};
    static const double uneven[] = {8e200, 8.4e200, 7.9e200, 8.8e200, 8.1e200};
    shot_moments m = shot_moments_find(x, 3);
    assert_rel(m.mean, 1.3e308, 1e-15);
    assert_rel(m.sd, 0.36055512754639896e308, 1e-14); /* sqrt(0.13) */
    m = shot_moments_find(middling, 3);
    assert_rel(m.mean, 2e160, 1e-15);
    assert_rel(m.sd, 3e160, 1e-15);
    /* The mean is rounded: what it leaves, squared, is past the largest double as well, and the
     * difference of the two read as no scatter. */
    m = shot_moments_find(uneven, 5);
    assert_rel(m.sd, 0.36469165057620939e200, 1e-13); /* sqrt(0.133) */
    m = shot_moments_find((const double[]){1, INFINITY}, 2);
    assert_false(isfinite(m.mean));
}

static void missing_values_are_left_out(void **state) {
    shot_moments m = shot_moments_find((double[]){NAN, 1, NAN, 3}, 4);
    assert_int_equal(m.n, 2);
    assert_rel(m.mean, 2, 0);
    assert_rel(m.sd, sqrt(2), 1e-15);
    /* Only the pair (1, 3) is complete: -1 over a sum of squares of 2 + 0. */
    assert_rel(shot_moments_lag1((double[]){1, 3, NAN, 2}, 4), -0.5, 1e-15);
}

static void too_few_values_have_no_scatter(void **state) {
    shot_moments none = shot_moments_find(NULL, 0), one = shot_moments_find((double[]){4}, 1);
    assert_int_equal(none.n, 0);
    assert_true(isnan(none.mean) && isnan(none.sd));
    assert_rel(one.mean, 4, 0);
    assert_true(isnan(one.sd));
    assert_true(isnan(shot_moments_lag1((double[]){2, 2, 2}, 3)));
}

/* Pooled by hand: (2 * 1 + 1 * 4)/3 with a group of one that has nothing to say. */
static void pooled_scatter_weighs_by_degrees_of_freedom(void **state) {
    const shot_moments groups[] = {{3, 0, 1}, {1, 9, NAN}, {2, 5, 2}};
    double df;
    assert_rel(shot_moments_pooled_sd(groups, 3, &df), sqrt(2), 1e-15);
    assert_rel(df, 3, 0);
    assert_true(isnan(shot_moments_pooled_sd(groups + 1, 1, &df)));
    assert_rel(df, 0, 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nist_accuracy_sets_keep_their_digits),
        cmocka_unit_test(nist_measured_sets_have_their_certified_values),
        cmocka_unit_test(values_near_the_largest_double_have_a_mean_and_a_scatter),
        cmocka_unit_test(missing_values_are_left_out),
        cmocka_unit_test(too_few_values_have_no_scatter),
        cmocka_unit_test(pooled_scatter_weighs_by_degrees_of_freedom),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
