/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: noise alone starts no more shots than the rate that is stated. */
#include <support/feed.h>

#include <shottrace/signal/flicker.h>
#include <shottrace/signal/random.h>

/* The stated rate is 1 % in ten minutes of white noise a channel: 0.9 false starts are to be
 * expected of 225 logs of two minutes and two channels.  Noise that wanders starts more while its
 * first seconds are all that is known of it: 3 of 100 logs (docs/segment.md), so that more than 16
 * of 450 logs in all have a chance of 1e-3.  The noise is that of a harsh logger (docs/model.md);
 * half of the logs have 1/f noise beside it. */
static shot_text noise_log(uint64_t log) {
    static const double rates[] = {2, 10, 50};
    double rate = rates[log % 3], drift = log % 2 ? 0.5 : 0;
    shot_random random = shot_random_at(77, log);
    shot_flicker slow;
    shot_text text = {0};
    shot_flicker_start(&slow, shot_random_at(78, log), 64);
    shot_text_add(&text, "time,pressure,flow\n");
    for (int i = 0; i < 120 * rate; i++) {
        double wander = drift * shot_flicker_step(&slow, 1 / rate);
        double p = 0.1 * (shot_random_normal(&random) + wander);
        double q = 0.2 * (shot_random_normal(&random) - wander);
        shot_text_add_format(&text, "%.3f,%.3f,%.3f\n", i / rate, p, q);
    }
    return text;
}

static void noise_alone_rarely_looks_like_water(void **state) {
    int false_ones[2] = {0}; /* in white noise, and with 1/f noise beside it */
    for (uint64_t log = 0; log < 450; log++) {
        shot_text text = noise_log(log);
        feed got = feed_chain("segment", text.bytes, text.length, 0);
        false_ones[log % 2] += strstr(got.out.bytes, "id=preinfusion-1 ") != NULL;
        feed_free(&got);
        shot_text_free(&text);
    }
    print_message("false starts: %d of 225 logs of white noise, %d of 225 with 1/f noise\n",
                  false_ones[0], false_ones[1]);
    assert_true(false_ones[0] + false_ones[1] <= 16);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(noise_alone_rarely_looks_like_water),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
