/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: power in each normalisation to nine digits, the accepted periods of open data, the
 * sinusoid's parameters and the error of its frequency. */
#include <support/check.h>
#include <support/reference.h>

#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/least_squares.h>
#include <shottrace/signal/lomb_scargle.h>
#include <shottrace/signal/random.h>

#include "signal/pi.h"

static const double T[] = {0, 0.7, 1.1, 2.4, 3, 3.9, 4.2, 5.5, 6.1, 7.3, 8, 9.6};
static const double Y[] = {1.2, 2.9, 3.1, 0.4, -0.2, 1.9, 2.6, 2.2, 0.3, 1.1, 2.8, 0.1};
enum { N = 12 };

/* scipy.signal.lombscargle 1.10.1, astropy 5.2.1 and equation 10 of Scargle 1982 written out. */
static const double EXPECTED[][4] = {
    {0.05, 0.346353519087, 0.043823726582, 0.0442175819226},
    {0.1, 0.0498090926601, 0.00630228924421, 0.00630688057766},
    {0.2, 0.537939475431, 0.0680648851241, 0.0686647747831},
    {0.25, 5.57052130504, 0.7048318817, 0.725597326312},
    {0.3, 6.45521234643, 0.816770857836, 0.82174868005},
    {0.4, 1.58050865975, 0.19998000756, 0.199986198635},
    {0.5, 0.0592309666079, 0.00749442850374, 0.0076975720358},
};

static double power_at(double f, shot_mean mean, shot_power_scale scale) {
    const shot_lomb_scargle_settings s = {mean, scale};
    double power = NAN;
    assert_int_equal(shot_lomb_scargle(T, Y, N, f, 0, 1, &s, &power), SHOT_OK);
    return power;
}

static void power_of_twelve_points(void **state) {
    for (size_t k = 0; k < sizeof EXPECTED / sizeof *EXPECTED; k++) {
        const double f = EXPECTED[k][0], z = EXPECTED[k][3];
        assert_rel(power_at(f, SHOT_MEAN_REMOVED, SHOT_POWER_SCARGLE), EXPECTED[k][1], 1e-9);
        assert_rel(power_at(f, SHOT_MEAN_REMOVED, SHOT_POWER_STANDARD), EXPECTED[k][2], 1e-9);
        assert_rel(power_at(f, SHOT_MEAN_FITTED, SHOT_POWER_STANDARD), z, 1e-9);
        assert_rel(power_at(f, SHOT_MEAN_FITTED, SHOT_POWER_MODEL), z / (1 - z), 1e-9);
        assert_rel(power_at(f, SHOT_MEAN_FITTED, SHOT_POWER_LOG), -log(1 - z), 1e-9);
    }
}

static void peak_on_a_grid(void **state) {
    const double expected[] = {0.975260095044, 0.975616522014};
    for (int mean = 0; mean < 2; mean++) {
        const shot_lomb_scargle_settings s = {(shot_mean)mean, SHOT_POWER_STANDARD};
        double power[781];
        size_t best = 0;
        assert_int_equal(shot_lomb_scargle(T, Y, N, 0.02, 0.001, 781, &s, power), SHOT_OK);
        for (size_t k = 0; k < 781; k++) {
            best = power[k] > power[best] ? k : best;
            /* turned step by step or set directly, it is the same to rounding */
            double alone;
            shot_lomb_scargle(T, Y, N, 0.02 + 0.001 * (double)k, 0, 1, &s, &alone);
            assert_close(power[k], alone, 1e-12);
        }
        assert_int_equal(best, 276 - 20);
        assert_rel(power[best], expected[mean], 1e-9);
    }
}

/* astropy 5.2.1: period of the highest peak, floating mean; with every observation, and with
 * observation i kept only if (7 i) mod 10 < 7. */
static void check_period(const double *t, const double *y, size_t n, int thinned, double low,
                         double high, double period, double power) {
    double *kept_t = malloc(n * sizeof *kept_t), *kept_y = malloc(n * sizeof *kept_y);
    size_t m = 0;
    for (size_t i = 0; i < n; i++)
        if (!thinned || 7 * i % 10 < 7) {
            kept_t[m] = t[i];
            kept_y[m++] = y[i];
        }
    shot_sinusoid peak;
    assert_int_equal(shot_lomb_scargle_peak(kept_t, kept_y, m, low, high, SHOT_MEAN_FITTED, &peak),
                     SHOT_OK);
    assert_close(1 / peak.frequency, period, 1e-4);
    assert_close(peak.power, power, 1e-7);
    free(kept_t);
    free(kept_y);
}

static void sunspots_return_after_eleven_years(void **state) {
    size_t n;
    double *year = reference_column("sunspot_year.csv", "year", &n);
    double *spots = reference_column("sunspot_year.csv", "sunspots", &n);
    check_period(year, spots, n, 0, 0.02, 0.5, 11.0361254, 0.28457852);
    check_period(year, spots, n, 1, 0.02, 0.5, 11.0421165, 0.29641697);
    free(year);
    free(spots);
}

static void lynxes_return_after_nine_and_a_half_years(void **state) {
    size_t n;
    double *year = reference_column("lynx.csv", "year", &n);
    double *trapped = reference_column("lynx.csv", "trapped", &n);
    check_period(year, trapped, n, 0, 0.02, 0.5, 9.6309579, 0.56714926);
    for (size_t i = 0; i < n; i++)
        trapped[i] = log10(trapped[i]);
    check_period(year, trapped, n, 0, 0.02, 0.5, 9.6203888, 0.63885657);
    check_period(year, trapped, n, 1, 0.02, 0.5, 9.6370553, 0.62964193);
    free(year);
    free(trapped);
}

/* Carbon dioxide at Mauna Loa less a quadratic trend: the year. */
static void carbon_dioxide_follows_the_year(void **state) {
    size_t n;
    double *t = reference_column("co2.csv", "time", &n),
           *ppm = reference_column("co2.csv", "ppm", &n);
    double *matrix = malloc(3 * n * sizeof *matrix), trend[3];
    double *work = malloc(shot_least_squares_workspace(n, 3) * sizeof *work);
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k < 3; k++)
            matrix[k * n + i] = pow(t[i] - 1978, (double)k);
    assert_int_equal(shot_least_squares_fit(matrix, ppm, n, 3, work, trend, NULL, NULL), SHOT_OK);
    assert_rel(trend[0], 334.839359, 1e-8);
    assert_rel(trend[1], 1.29579817, 1e-8);
    assert_rel(trend[2], 0.0127620173, 1e-8);
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k < 3; k++)
            ppm[i] -= trend[k] * matrix[k * n + i];
    shot_sinusoid peak;
    assert_int_equal(shot_lomb_scargle_peak(t, ppm, n, 0.02, 6, SHOT_MEAN_FITTED, &peak), SHOT_OK);
    assert_close(1 / peak.frequency, 0.99951019, 1e-5);
    assert_close(peak.power, 0.82890018, 1e-6);
    free(t);
    free(ppm);
    free(matrix);
    free(work);
}

/* A pure sinusoid far from time 0 is found as it was made. */
static void a_pure_sinusoid_comes_back(void **state) {
    double t[60], y[60];
    shot_random random = shot_random_at(6, 0);
    for (size_t i = 0; i < 60; i++) {
        t[i] = 1000 + (double)i * 0.1 + 0.03 * shot_random_normal(&random);
        y[i] = 9 + 0.5 * sin(2 * SHOT_PI * (2.345 * t[i] + 0.2));
    }
    shot_sinusoid fit;
    assert_int_equal(shot_lomb_scargle_peak(t, y, 60, 0.3, 5, SHOT_MEAN_FITTED, &fit), SHOT_OK);
    assert_close(fit.frequency, 2.345, 1e-7); /* the power is flat at its top: half the digits */
    assert_int_equal(shot_lomb_scargle_fit(t, y, 60, 2.345, SHOT_MEAN_FITTED, &fit), SHOT_OK);
    assert_close(fit.amplitude, 0.5, 1e-10);
    assert_close(fit.phase, 0.2, 1e-10);
    assert_close(fit.mean, 9, 1e-10);
    assert_close(fit.power, 1, 1e-12);
}

/* Standard errors are what the estimates scatter by: 400 noisy series, so that the ratio of the
 * two is known to 1/sqrt(800) = 3.5 %; 12 % is 3.4 of these. */
static void the_frequency_error_is_what_it_scatters_by(void **state) {
    enum { SERIES = 400, POINTS = 120 };
    double t[POINTS], y[POINTS], squares = 0, claimed = 0;
    shot_random random = shot_random_at(7, 0);
    for (int k = 0; k < SERIES; k++) {
        for (size_t i = 0; i < POINTS; i++) {
            t[i] = (double)i * 0.1 + 0.02 * shot_random_normal(&random);
            y[i] = 0.4 * sin(2 * SHOT_PI * 1.7 * t[i]) + 0.2 * shot_random_normal(&random);
        }
        shot_sinusoid fit;
        assert_int_equal(shot_lomb_scargle_peak(t, y, POINTS, 1, 3, SHOT_MEAN_FITTED, &fit),
                         SHOT_OK);
        squares += (fit.frequency - 1.7) * (fit.frequency - 1.7) / SERIES;
        claimed += fit.frequency_se * fit.frequency_se / SERIES;
    }
    assert_rel(sqrt(claimed / squares), 1, 0.12);
    /* Montgomery & O'Donoghue 1999, equation 4: sqrt(6/n) sd / (pi T A) */
    assert_rel(sqrt(claimed), sqrt(6.0 / POINTS) * 0.2 / (SHOT_PI * 12 * 0.4), 0.05);
}

static void missing_samples_are_left_out(void **state) {
    double y[N + 1], t[N + 1], with, without;
    memcpy(t, T, 5 * sizeof *t);
    memcpy(y, Y, 5 * sizeof *y);
    t[5] = 3.5;
    y[5] = NAN;
    memcpy(t + 6, T + 5, 7 * sizeof *t);
    memcpy(y + 6, Y + 5, 7 * sizeof *y);
    const shot_lomb_scargle_settings s = {SHOT_MEAN_FITTED, SHOT_POWER_STANDARD};
    assert_int_equal(shot_lomb_scargle(t, y, N + 1, 0.3, 0, 1, &s, &with), SHOT_OK);
    assert_int_equal(shot_lomb_scargle(T, Y, N, 0.3, 0, 1, &s, &without), SHOT_OK);
    assert_true(with == without);
}

static void what_cannot_be_answered_is_refused(void **state) {
    const double constant[N] = {9.1, 9.1, 9.1, 9.1, 9.1, 9.1, 9.1, 9.1, 9.1, 9.1, 9.1, 9.1};
    const shot_lomb_scargle_settings s = {SHOT_MEAN_FITTED, SHOT_POWER_STANDARD};
    double power = -1;
    shot_sinusoid fit;
    assert_int_equal(shot_lomb_scargle(T, constant, N, 0.3, 0, 1, &s, &power), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_lomb_scargle(T, Y, 3, 0.3, 0, 1, &s, &power), SHOT_ERR_RANGE);
    assert_int_equal(shot_lomb_scargle(T, Y, 0, 0.3, 0, 1, &s, &power), SHOT_ERR_RANGE);
    assert_int_equal(shot_lomb_scargle(T, Y, N, 0, 0, 1, &s, &power), SHOT_ERR_RANGE);
    assert_true(power == -1);
    assert_int_equal(shot_lomb_scargle_peak(T, Y, N, 0.3, 0.2, SHOT_MEAN_FITTED, &fit),
                     SHOT_ERR_RANGE);
    /* the power falls all the way from the peak at 0.276 */
    assert_int_equal(shot_lomb_scargle_peak(T, Y, N, 0.3, 0.32, SHOT_MEAN_FITTED, &fit),
                     SHOT_ERR_SINGULAR);
}

/* At half the rate of an even grid every sine is 0: a cosine alone is fitted. */
static void half_the_sampling_rate_is_no_trap(void **state) {
    double t[8], y[8], power;
    for (int i = 0; i < 8; i++) {
        t[i] = i;
        y[i] = i % 2 ? -1 : 1;
    }
    const shot_lomb_scargle_settings s = {SHOT_MEAN_FITTED, SHOT_POWER_STANDARD};
    assert_int_equal(shot_lomb_scargle(t, y, 8, 0.5, 0, 1, &s, &power), SHOT_OK);
    assert_close(power, 1, 1e-12);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(power_of_twelve_points),
        cmocka_unit_test(peak_on_a_grid),
        cmocka_unit_test(sunspots_return_after_eleven_years),
        cmocka_unit_test(lynxes_return_after_nine_and_a_half_years),
        cmocka_unit_test(carbon_dioxide_follows_the_year),
        cmocka_unit_test(a_pure_sinusoid_comes_back),
        cmocka_unit_test(the_frequency_error_is_what_it_scatters_by),
        cmocka_unit_test(missing_samples_are_left_out),
        cmocka_unit_test(what_cannot_be_answered_is_refused),
        cmocka_unit_test(half_the_sampling_rate_is_no_trap),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
