/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a continuum that is found under peaks, and the tail that tells a false alarm. */
#include <support/check.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/random.h>
#include <shottrace/signal/red_noise.h>

enum { BINS = 60 };

/* Powers that are exactly what ln of a chi-square variable is on average about a parabola:
 * psi(nu/2)
 * - ln(nu/2), for nu = 16: psi(8) = 2.01564147795561 (Abramowitz & Stegun 1964, table 6.1). */
static void a_parabola_is_found_to_rounding(void **state) {
    double frequency[BINS], power[BINS];
    shot_red_noise null;
    for (int k = 0; k < BINS; k++) {
        const double u = log(frequency[k] = 0.5 + 0.1 * k);
        power[k] = exp(1 - 1.5 * u + 0.2 * u * u + 2.01564147795561 - log(8));
    }
    assert_int_equal(shot_red_noise_fit(frequency, power, BINS, 16, 1.5, &null), SHOT_OK);
    for (int k = 0; k < BINS; k++) {
        const double u = log(frequency[k]);
        assert_rel(shot_red_noise_at(&null, frequency[k]), exp(1 - 1.5 * u + 0.2 * u * u), 1e-11);
    }
    assert_int_equal(null.used, BINS);
    assert_true(null.misfit == 0);
}

/* A line 30 times above the continuum is left out of it, with two bins on either side. */
static void a_line_does_not_lift_the_continuum(void **state) {
    double frequency[BINS], power[BINS], bare[BINS];
    shot_red_noise null, clean;
    shot_random random = shot_random_at(14, 0);
    for (int k = 0; k < BINS; k++) {
        frequency[k] = 0.5 + 0.1 * k;
        bare[k] = power[k] = shot_chi_square_quantile(shot_random_uniform(&random), 16) / 16;
    }
    power[40] += 30;
    power[41] += 8;
    assert_int_equal(shot_red_noise_fit(frequency, power, BINS, 16, 1.5, &null), SHOT_OK);
    assert_int_equal(shot_red_noise_fit(frequency, bare, BINS, 16, 1.5, &clean), SHOT_OK);
    assert_true(null.used >= BINS - 6 && null.used <= BINS - 5);
    assert_rel(shot_red_noise_at(&null, frequency[40]), shot_red_noise_at(&clean, frequency[40]),
               0.1); /* five of sixty bins are missing, at the line */
    assert_true(shot_red_noise_false_alarm(&null, frequency[40], power[40]) < 1e-20);
}

/* With a continuum known exactly, the false-alarm probability is the tail of chi-square. */
static void an_exact_continuum_gives_the_chi_square_tail(void **state) {
    const shot_red_noise null = {.coefficient = {log(2), 0, 0}, .centre = 1, .freedom = 10};
    for (double ratio = 0.5; ratio < 8; ratio++)
        assert_rel(shot_red_noise_false_alarm(&null, 3, 2 * ratio),
                   shot_chi_square_tail(10 * ratio, 10), 1e-10);
}

static void wrong_arguments_are_refused(void **state) {
    double frequency[BINS], power[BINS] = {0};
    shot_red_noise null;
    for (int k = 0; k < BINS; k++)
        frequency[k] = 1 + k;
    assert_int_equal(shot_red_noise_fit(frequency, power, BINS, 16, 1.5, &null), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_red_noise_fit(frequency, power, 7, 16, 1.5, &null), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_red_noise_fit(frequency, power, BINS, 1, 1.5, &null), SHOT_ERR_RANGE);
    assert_int_equal(shot_red_noise_fit(frequency, power, BINS, 16, 0, &null), SHOT_ERR_RANGE);
    frequency[0] = 0;
    assert_int_equal(shot_red_noise_fit(frequency, power, BINS, 16, 1.5, &null), SHOT_ERR_RANGE);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_parabola_is_found_to_rounding),
        cmocka_unit_test(a_line_does_not_lift_the_continuum),
        cmocka_unit_test(an_exact_continuum_gives_the_chi_square_tail),
        cmocka_unit_test(wrong_arguments_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
