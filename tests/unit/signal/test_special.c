/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: both tails of the incomplete beta and gamma functions, small ones too. */
#include <support/check.h>

#include <shottrace/signal/special.h>

/* I_x(a, 1) = x^a and I_x(1, b) = 1 - (1 - x)^b: DLMF 8.17.5 with one shape 1. */
static void beta_has_its_closed_forms(void **state) {
    for (double x = 1e-6; x < 1; x = x * 1.9 + 1e-3)
        for (double a = 0.3; a < 300; a *= 3) {
            assert_rel(shot_special_beta(a, 1, x, 1 - x).lower, pow(x, a), 1e-12);
            assert_rel(shot_special_beta(1, a, x, 1 - x).upper, pow(1 - x, a), 1e-12);
            assert_rel(shot_special_beta(a, 1, x, 1 - x).upper, -expm1(a * log(x)), 1e-11);
        }
}

/* I_x(a, b) = 1 - I_{1-x}(b, a) (DLMF 8.17.4), and 1/2 in the middle of a symmetric one. */
static void beta_mirrors_itself(void **state) {
    for (double a = 0.1; a < 2e6; a *= 7.3) {
        assert_rel(shot_special_beta(a, a, 0.5, 0.5).lower, 0.5, 1e-12);
        shot_tails left = shot_special_beta(a, 2.5, 0.8, 0.2);
        shot_tails right = shot_special_beta(2.5, a, 0.2, 0.8);
        assert_rel(left.lower, right.upper, 1e-12);
        assert_rel(left.upper, right.lower, 1e-12);
    }
}

/* P(1/2, x) = erf(sqrt x) and Q(1, x) = exp(-x): DLMF 8.4.1, 8.4.8. */
static void gamma_has_its_closed_forms(void **state) {
    for (double x = 1e-8; x < 600; x *= 1.7) {
        assert_rel(shot_special_gamma(0.5, x).lower, erf(sqrt(x)), 1e-13);
        assert_rel(shot_special_gamma(0.5, x).upper, erfc(sqrt(x)), 1e-13);
        assert_rel(shot_special_gamma(1, x).upper, exp(-x), 1e-12);
    }
}

/* Against the C library, whose own error near the zeros of ln Gamma is absolute. */
static void log_gamma_agrees_with_the_c_library(void **state) {
    for (double x = 1e-5; x < 1e8; x *= 1.37)
        assert_close(shot_special_log_gamma(x), lgamma(x), 1e-15 + 2e-15 * fabs(lgamma(x)));
    assert_true(isnan(shot_special_log_gamma(0)));
}

static void arguments_outside_the_range_give_nan(void **state) {
    assert_true(isnan(shot_special_beta(0, 1, 0.5, 0.5).lower));
    assert_true(isnan(shot_special_beta(1, 1, NAN, 0.5).upper));
    assert_true(isnan(shot_special_gamma(1, -1).lower));
    assert_true(isnan(shot_special_gamma(-1, 1).upper));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(beta_has_its_closed_forms),
        cmocka_unit_test(beta_mirrors_itself),
        cmocka_unit_test(gamma_has_its_closed_forms),
        cmocka_unit_test(log_gamma_agrees_with_the_c_library),
        cmocka_unit_test(arguments_outside_the_range_give_nan),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
