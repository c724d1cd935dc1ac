/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a false-alarm rate that is kept on noise of every colour. */
#include <support/check.h>

#include <stdlib.h>

#include <shottrace/signal/flicker.h>
#include <shottrace/signal/random.h>
#include <shottrace/signal/red_noise.h>
#include <shottrace/signal/segment_spectra.h>

typedef enum colour { WHITE, RED, WALK, FLICKER, ROUNDED, COLOURS } colour;

static void add_noise(colour c, double jitter, shot_random *random, size_t n, double *t,
                      double *y) {
    double level = 0;
    shot_flicker flicker;
    shot_flicker_start(&flicker, shot_random_at(15, shot_random_bits(random)), 64);
    for (size_t i = 0; i < n; i++) {
        t[i] = 0.1 * ((double)i + jitter * shot_random_between(random, -1, 1));
        const double dt = i > 0 ? t[i] - t[i - 1] : 0.1, e = shot_random_normal(random);
        const double memory = exp(-dt / 1.0);
        if (c == WHITE)
            y[i] = e;
        else if (c == RED)
            y[i] = level = memory * level + sqrt(1 - memory * memory) * e;
        else if (c == WALK)
            y[i] = level += sqrt(dt) * e;
        else if (c == FLICKER)
            y[i] = shot_flicker_step(&flicker, dt);
        else
            y[i] = round(0.4 * e + 0.05 * t[i]);
    }
}

/* The smallest probability in a spectrum of 300 samples, times the number of bins, is at most 5 %
 * in at most 5 % of 300 runs; 5 % + 3 standard deviations of such a share is 8.8 %. */
static void the_alarm_rate_is_kept_on_every_colour(void **state) {
    enum { RUNS = 300, SAMPLES = 300, FIRST = 3 };
    for (int c = 0; c < COLOURS; c++)
        for (int uneven = 0; uneven < 2; uneven++) {
            shot_random random = shot_random_at(16, (uint64_t)(2 * c + uneven));
            int alarms = 0;
            for (int run = 0; run < RUNS; run++) {
                double t[SAMPLES], y[SAMPLES], smallest = 1;
                shot_segment_spectra s;
                shot_red_noise null;
                add_noise((colour)c, 0.3 * uneven, &random, SAMPLES, t, y);
                assert_int_equal(shot_segment_spectra_find(t, y, SAMPLES, 6.4, &s), SHOT_OK);
                double *mean = calloc(s.bins, sizeof *mean);
                for (size_t j = 0; j < s.segments; j++)
                    for (size_t k = 0; k < s.bins; k++)
                        mean[k] += s.power[j * s.bins + k] / (double)s.segments;
                const size_t m = s.bins - FIRST;
                assert_int_equal(shot_red_noise_fit(s.frequency + FIRST, mean + FIRST, m, s.freedom,
                                                    SHOT_SEGMENT_BANDWIDTH, &null),
                                 SHOT_OK);
                for (size_t k = FIRST; k < s.bins; k++)
                    smallest =
                        fmin(smallest, shot_red_noise_false_alarm(&null, s.frequency[k], mean[k]));
                alarms += smallest * (double)m < 0.05;
                free(mean);
                shot_segment_spectra_free(&s);
            }
            print_message("colour %d, %s: %.3f\n", c, uneven ? "uneven" : "even",
                          (double)alarms / RUNS);
            assert_true(alarms < 0.088 * RUNS);
        }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_alarm_rate_is_kept_on_every_colour),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
