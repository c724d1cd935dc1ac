/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the interval of a size is that of a ratio whose denominator is not known either. */
#include <support/check.h>

#include <detect/surge_trials.h>

/* Fieller 1954, 'Some problems in interval estimation', J. R. Stat. Soc. B 16:175-185: x lies
 * within where (gain - x)^2 <= z^2 (se^2 + v (2 x + x^2)), of a rise with that standard error, v of
 * which is the variance of what it rises from; the ends are the roots of the square. */
static double fieller(double gain, double se, double v, double z, double sign) {
    const double a = 1 - z * z * v, b = gain + z * z * v, c = gain * gain - z * z * se * se;
    const double x = (b + sign * sqrt(b * b - a * c)) / a;
    return x / (1 + x);
}

static void expect_fieller(double gain, double se, double base_se) {
    const double z = 1.959963984540054; /* of 95 % */
    surge_trial one = {.gain = gain, .gain_se = se, .score = gain / se, .weight = 1};
    const surge_trials trials = {
        .items = &one, .count = 1, .step = 0.01, .contradiction = 1, .base_se = base_se};
    const surge_figure loss = surge_trials_loss(&trials, 0.95);
    assert_close(loss.mean, gain / (1 + gain), 1e-12);
    assert_close(loss.low, fieller(gain, se, base_se * base_se, z, -1), 1e-6);
    assert_close(loss.high, fieller(gain, se, base_se * base_se, z, 1), 1e-6);
}

/* 9 to 50 % of the resistance, from a base that is known well, and to a tenth. */
static void a_size_is_a_ratio(void **state) {
    expect_fieller(0.1, 0.02, 0);
    expect_fieller(0.1, 0.02, 0.015);
    expect_fieller(0.5, 0.05, 0.03);
    expect_fieller(1, 0.15, 0.1);
}

/* A base that may be nothing, two standard errors being more than all of it, tells no upper end. */
static void from_nothing_known_all_may_be_lost(void **state) {
    surge_trial one = {.gain = 1, .gain_se = 0.6, .score = 1.7, .weight = 1};
    const surge_trials trials = {
        .items = &one, .count = 1, .step = 0.01, .contradiction = 1, .base_se = 0.6};
    assert_close(surge_trials_loss(&trials, 0.95).high, 1, 1e-6);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_size_is_a_ratio),
        cmocka_unit_test(from_nothing_known_all_may_be_lost),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
