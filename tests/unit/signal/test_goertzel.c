/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the amplitude of a tone, the sum by definition at any frequency and length, and the
 * digits at frequencies near 0 and near half the sampling rate. */
#include <support/check.h>

#include <shottrace/signal/goertzel.h>
#include <shottrace/signal/random.h>

#include "signal/pi.h"

static void a_sine_of_whole_cycles(void **state) {
    shot_goertzel g;
    double re, im;
    assert_int_equal(shot_goertzel_init(&g, 3.0 / 16), SHOT_OK);
    for (int i = 0; i < 16; i++)
        shot_goertzel_push(&g, 2 * sin(2 * SHOT_PI * 3 * i / 16));
    shot_goertzel_find(&g, &re, &im);
    assert_close(hypot(re, im), 16, 1e-12); /* A n / 2 */
    assert_close(re, 0, 1e-12);
    assert_close(im, -16, 1e-12);
}

static void the_sum_by_definition(void **state) {
    const double frequency[] = {0, 0.5, 0.25, 1e-7, 0.49999993, 0.1234, -0.3, 7.8, 0.75};
    shot_random random = shot_random_at(5, 0);
    for (size_t k = 0; k < sizeof frequency / sizeof *frequency; k++) {
        shot_goertzel g;
        long double sum_re = 0, sum_im = 0;
        assert_int_equal(shot_goertzel_init(&g, frequency[k]), SHOT_OK);
        for (int i = 0; i < 5000; i++) {
            double re, im;
            if (i % 999 == 0) {
                shot_goertzel_find(&g, &re, &im);
                /* sums of up to 5000 values of size 1, with a rounding each */
                assert_close(re, (double)sum_re, 1e-9);
                assert_close(im, (double)sum_im, 1e-9);
            }
            const double x = shot_random_normal(&random);
            const long double angle = 2 * 3.14159265358979323846L * frequency[k] * i;
            sum_re += x * cosl(angle);
            sum_im -= x * sinl(angle);
            shot_goertzel_push(&g, x);
        }
    }
}

static void a_frequency_that_is_no_number_is_refused(void **state) {
    shot_goertzel g;
    assert_int_equal(shot_goertzel_init(&g, NAN), SHOT_ERR_RANGE);
    assert_int_equal(shot_goertzel_init(&g, INFINITY), SHOT_ERR_RANGE);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_sine_of_whole_cycles),
        cmocka_unit_test(the_sum_by_definition),
        cmocka_unit_test(a_frequency_that_is_no_number_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
