/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: flicker noise has unit variance and the covariance of octave-spaced
 * relaxations, whose density is 1/f, for even and uneven steps. */
#include <support/check.h>

#include <shottrace/signal/flicker.h>

/* The autocovariance of the sum is the mean of exp(-t / tau_i): exact, compared with the sample
 * mean over independent realisations, 4 standard errors (product of correlated normals: sd < 1.5).
 * The two steps of a lag are uneven on purpose. */
static void covariance_is_the_sum_of_relaxations(void **state) {
    enum { N = 20000 };
    static const double lag[] = {0.01, 0.1, 1, 10};
    for (int k = 0; k < 4; k++) {
        double sum = 0, square = 0, expected = 0;
        for (int i = 0; i < N; i++) {
            shot_flicker noise;
            shot_flicker_start(&noise, shot_random_at(21, (uint64_t)i), 32);
            const double a = shot_flicker_step(&noise, 0);
            shot_flicker_step(&noise, 0.3 * lag[k]);
            const double b = shot_flicker_step(&noise, 0.7 * lag[k]);
            sum += a * b;
            square += b * b;
        }
        for (int i = 0; i < SHOT_FLICKER_OCTAVES; i++)
            expected += exp(-lag[k] * (1 << i) / 32) / SHOT_FLICKER_OCTAVES;
        assert_close(sum / N, expected, 4 * 1.5 / sqrt(N));
        assert_close(square / N, 1, 4 * sqrt(2.0 / N));
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(covariance_is_the_sum_of_relaxations),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
