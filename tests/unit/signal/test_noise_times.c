/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what is kept of the times for the next channel changes no bit of an estimate, whatever
 * times come after which. */
#include <support/check.h>

#include <string.h>

#include <shottrace/signal/noise.h>
#include <shottrace/signal/random.h>
#include <signal/noise_times.h>

enum { MOST = 500 };

static void make_times(shot_random *random, double *t, size_t n) {
    const double spacing = shot_random_chance(random, 0.5) ? 0.1 : 0.008;
    const double jitter = shot_random_chance(random, 0.3) ? 0 : 0.3;
    for (size_t i = 0; i < n; i++)
        t[i] = spacing * ((double)i + jitter * shot_random_uniform(random));
    if (shot_random_chance(random, 0.2)) /* a time that comes twice */
        t[n / 2] = t[n / 2 + 1];
}

static void make_values(shot_random *random, double *y, size_t n) {
    const double step = shot_random_chance(random, 0.5) ? 0.1 : 1e-9;
    double level = 0;
    for (size_t i = 0; i < n; i++) {
        level += 0.05 * shot_random_normal(random);
        y[i] = step * round((level + 0.1 * shot_random_normal(random)) / step);
        if (shot_random_chance(random, 0.001))
            y[i] = NAN;
    }
}

static void estimates_are_those_of_channels_alone(void **state) {
    noise_times times = {0};
    size_t shared = 0, unfitted = 0;
    for (uint64_t seed = 0; seed < 500; seed++) {
        shot_random random = shot_random_at(92, seed);
        const size_t n = 8 + shot_random_below(&random, MOST - 8);
        double t[MOST], y[MOST], work[5 * MOST];
        make_times(&random, t, n);
        for (int channel = 0; channel < 3; channel++) {
            shot_noise alone, with, plain;
            make_values(&random, y, n);
            assert_true(shot_noise_workspace(n) <= 5 * MOST);
            assert_int_equal(shot_noise_estimate(t, y, n, 0.1, work, &alone), SHOT_OK);
            const size_t before = times.n;
            noise_way way = {&times, true};
            assert_int_equal(noise_estimate_with(&way, t, y, n, 0.1, work, &with), SHOT_OK);
            assert_memory_equal(&alone, &with, sizeof alone);
            way.fits = false;
            assert_int_equal(noise_estimate_with(&way, t, y, n, 0.1, work, &plain), SHOT_OK);
            assert_memory_equal(&alone, &plain, offsetof(shot_noise, fitted_sd));
            unfitted += plain.fitted_sd != alone.fitted_sd;
            shared += channel > 0 && times.n == before;
        }
    }
    assert_true(shared > 500);
    assert_true(unfitted > 100);
    noise_times_free(&times);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(estimates_are_those_of_channels_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
