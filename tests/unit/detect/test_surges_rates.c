/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: on noise without a surge there are no more alarms than the rate that is stated, and of
 * many surges hardly any is missed or dated outside its interval. */
#include <support/surge_shot.h>

#include <support/mark_text.h>

static int alarms_of(plan p, int shots) {
    int alarms = 0;
    for (int i = 0; i < shots; i++) {
        p.seed = (uint64_t)(1000 * p.rate) + (uint64_t)i;
        feed got = surges(&p, "surges");
        alarms += final_count(got.out.bytes, "surge");
        feed_free(&got);
    }
    return alarms;
}

/* Without a surge, a rate of 1 % is one alarm in a hundred shots; more than three in 61 have a
 * chance of 0.3 % (binomial), so they are a fault. */
static void the_alarm_rate_is_kept_on_white_noise(void **state) {
    int alarms = 0;
    alarms += alarms_of((plan){.meter = true, .rate = 2, .noise = 0.08}, 24);
    alarms += alarms_of((plan){.meter = true, .rate = 10, .noise = 0.08}, 24);
    alarms += alarms_of((plan){.meter = true, .rate = 50, .noise = 0.08}, 12);
    alarms += alarms_of((plan){.meter = true, .rate = 1000, .noise = 0.08}, 1);
    assert_true(alarms <= 3);
}

static void and_on_noise_that_drifts(void **state) {
    int alarms = 0;
    alarms += alarms_of((plan){.meter = true, .rate = 2, .noise = 0.08, .drifts = true}, 24);
    alarms += alarms_of((plan){.meter = true, .rate = 10, .noise = 0.08, .drifts = true}, 24);
    alarms += alarms_of((plan){.meter = true, .rate = 50, .noise = 0.08, .drifts = true}, 12);
    alarms += alarms_of((plan){.meter = true, .rate = 1000, .noise = 0.08, .drifts = true}, 1);
    assert_true(alarms <= 3);
}

/* A meter that counts pulses over 0.8 s shows a fall of the resistance by and by, from its onset
 * on. An interval of 95 % holds the truth in at least 13 of 16 logs, but for 1 % (binomial). */
static void a_meter_that_counts_shows_the_onset_late(void **state) {
    int held = 0;
    for (uint64_t seed = 50; seed < 66; seed++) {
        feed got = surges(&(plan){.loss = 0.3,
                                  .takes = 0.3,
                                  .meter = true,
                                  .gate = 0.8,
                                  .rate = 8,
                                  .noise = 0.03,
                                  .seed = seed},
                          "surges");
        const char *line = final_line(got.out.bytes, "surge", 0);
        held += line != NULL && mark_number(line, "from.low") <= 18 &&
                mark_number(line, "from.high") >= 18;
        feed_free(&got);
    }
    assert_true(held >= 13);
}

/* Flow that goes up and down every 8 s, with no gauge: what was found and taken out before must not
 * make the flow look smaller than a step of the meter. */
static void each_of_many_is_found(void **state) {
    shot_text text = {0};
    shot_text_add(&text, "time [s],flow [ml/s]\n");
    shot_random random = shot_random_at(24, 0);
    for (int i = 0; i < 1600; i++) {
        const double t = i / 10.0, flow = t < 2 ? 0 : i / 80 % 2 == 0 ? 1 : 1.4;
        shot_text_add_format(&text, "%.1f,%.2f\n", t, flow + 0.03 * shot_random_normal(&random));
    }
    feed got = feed_log("surges", &text);
    /* of 9 behind the filling of the basket */
    assert_in_range(final_count(got.out.bytes, "surge"), 8, 9);
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_alarm_rate_is_kept_on_white_noise),
        cmocka_unit_test(and_on_noise_that_drifts),
        cmocka_unit_test(a_meter_that_counts_shows_the_onset_late),
        cmocka_unit_test(each_of_many_is_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
