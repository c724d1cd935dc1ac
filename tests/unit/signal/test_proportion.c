/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: intervals of a proportion have their closed forms and cover what they promise. */
#include <support/check.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/proportion.h>

/* The coverage at one true proportion, summed over every outcome: exact, no simulation. */
static double coverage(shot_status (*interval)(size_t, size_t, double, double *, double *),
                       size_t n, double p) {
    double covered = 0;
    for (size_t k = 0; k <= n; k++) {
        double low, high;
        assert_int_equal(interval(k, n, 0.95, &low, &high), SHOT_OK);
        if (low <= p && p <= high)
            covered += shot_binomial_cdf((double)k, (double)n, p) -
                       shot_binomial_cdf((double)k - 1, (double)n, p);
    }
    return covered;
}

/* No success in n: the upper end solves (1 - p)^n = alpha/2; Wilson's is z^2/(n + z^2). */
static void ends_have_their_closed_forms(void **state) {
    double low, high, z = 1.95996398454005;
    assert_int_equal(shot_proportion_exact(0, 20, 0.95, &low, &high), SHOT_OK);
    assert_rel(low, 0, 0);
    assert_rel(high, 1 - pow(0.025, 1.0 / 20), 1e-12);
    assert_int_equal(shot_proportion_exact(20, 20, 0.95, &low, &high), SHOT_OK);
    assert_rel(low, pow(0.025, 1.0 / 20), 1e-12);
    assert_rel(high, 1, 0);
    assert_int_equal(shot_proportion_wilson(0, 20, 0.95, &low, &high), SHOT_OK);
    assert_rel(low, 0, 0);
    assert_rel(high, z * z / (20 + z * z), 1e-12);
}

static void exact_interval_never_covers_less_than_its_level(void **state) {
    for (double p = 0.005; p < 1; p += 0.0173)
        assert_true(coverage(shot_proportion_exact, 25, p) >= 0.95);
}

/* On average over p: 0.953 for n = 50 by Brown, Cai & DasGupta 2001, figure 5 (read off). */
static void wilson_interval_covers_its_level_on_average(void **state) {
    double sum = 0;
    int count = 0;
    for (double p = 0.01; p < 1; p += 0.007, count++)
        sum += coverage(shot_proportion_wilson, 50, p);
    assert_close(sum / count, 0.95, 0.006);
}

static void impossible_counts_are_refused(void **state) {
    double low, high;
    assert_int_equal(shot_proportion_exact(3, 2, 0.95, &low, &high), SHOT_ERR_RANGE);
    assert_int_equal(shot_proportion_wilson(0, 0, 0.95, &low, &high), SHOT_ERR_RANGE);
    assert_int_equal(shot_proportion_wilson(1, 2, 1, &low, &high), SHOT_ERR_RANGE);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ends_have_their_closed_forms),
        cmocka_unit_test(exact_interval_never_covers_less_than_its_level),
        cmocka_unit_test(wilson_interval_covers_its_level_on_average),
        cmocka_unit_test(impossible_counts_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
