/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: residuals of pieces tell the long-run variance of correlated noise without bias, white
 * noise is not taken for more than it is, and too few samples leave what was told. */
#include <support/check.h>

#include <shottrace/signal/random.h>

#include "detect/knee_residual.h"

enum { SAMPLES = 300, PIECES = 3, EACH = SAMPLES / PIECES };

/* Noise of variance 1 and correlation r, less its mean on each piece. */
static void fill(double r, uint64_t seed, double *out) {
    shot_random random = shot_random_at(64, seed);
    double noise = shot_random_normal(&random);
    for (int i = 0; i < SAMPLES; i++) {
        noise = r * noise + sqrt(1 - r * r) * shot_random_normal(&random);
        out[i] = noise;
    }
    for (int piece = 0; piece < PIECES; piece++) {
        double sum = 0;
        for (int i = 0; i < EACH; i++)
            sum += out[piece * EACH + i];
        for (int i = 0; i < EACH; i++)
            out[piece * EACH + i] -= sum / EACH;
    }
}

/* The mean of the long-run variance over 400 series, of which one has a standard deviation of a
 * third: 10 % is six of the mean's; and how many show more than white noise of variance 1. */
static double mean_variance(double r, int *more) {
    const shot_noise told = {.sd = 1, .spacing = 0.1, .inflation = 1};
    double residual[SAMPLES], sum = 0;
    *more = 0;
    for (uint64_t seed = 0; seed < 400; seed++) {
        fill(r, seed, residual);
        const shot_noise left = knee_residual_noise(&told, residual, SAMPLES, PIECES, 1);
        sum += knee_long_run_variance(&left);
        *more += knee_residual_shows_more(&told, &left, SAMPLES);
    }
    print_message("r = %g: long-run variance %.2f, more than white in %d of 400\n", r, sum / 400,
                  *more);
    return sum / 400;
}

static void correlated_noise_is_told_in_full(void **state) {
    int more;
    assert_rel(mean_variance(0.4, &more), 1.4 / 0.6, 0.1);
    assert_in_range(more, 390, 400);
    assert_rel(mean_variance(0.7, &more), 1.7 / 0.3, 0.1);
    assert_in_range(more, 390, 400);
}

/* Three standard errors: one in 741 of a normal law; of so skew a law a few more. */
static void white_noise_is_seldom_taken_for_more(void **state) {
    int more;
    assert_rel(mean_variance(0, &more), 1.07, 0.1); /* a correlation counts where it is over 0 */
    assert_in_range(more, 0, 8);
}

static void few_samples_leave_what_was_told(void **state) {
    const double residual[] = {1, -1, 1, -1, 1, -1, 1, -1};
    const shot_noise told = {.sd = 0.2, .spacing = 0.1, .lag1 = 0.3, .inflation = 1.3 / 0.7};
    const shot_noise left = knee_residual_noise(&told, residual, 8, 2, 2);
    assert_close(left.sd, told.sd, 0);
    assert_close(left.lag1, told.lag1, 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(correlated_noise_is_told_in_full),
        cmocka_unit_test(white_noise_is_seldom_taken_for_more),
        cmocka_unit_test(few_samples_leave_what_was_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
