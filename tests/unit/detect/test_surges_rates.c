/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: on noise without a surge there are no more alarms than the rate that is stated, and of
 * many surges hardly any is missed or dated outside its interval; and what takes long. */
#include <support/surge_shot.h>

#include <support/mark_text.h>
#include <support/marks_of_log.h>

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

/* Flow of 2 ml/s is held, and noisy: within a second the meter does not show clearly that it does
 * not fall with the pressure, over the whole fall it does. */
static void a_fall_of_pressure_beside_a_noisy_meter_is_one(void **state) {
    int found = 0;
    for (uint64_t seed = 31; seed < 36; seed++) {
        feed got = surges(&(plan){.loss = 0.45,
                                  .flow_held = true,
                                  .meter = true,
                                  .rate = 3,
                                  .noise = 0.15,
                                  .seed = seed},
                          "surges");
        found += final_count(got.out.bytes, "surge");
        feed_free(&got);
    }
    assert_int_equal(found, 5);
}

/* The bed has had 0.3 s to settle, and its trend may bend, but by no surge.  Where it might, 10 of
 * these were found. */
static void a_trend_is_no_surge_itself(void **state) {
    int found = 0;
    for (uint64_t seed = 100; seed < 116; seed++) {
        feed got = surges(
            &(plan){
                .loss = 0.3, .soaked = true, .meter = true, .rate = 3, .noise = 0.08, .seed = seed},
            "surges");
        found += final_count(got.out.bytes, "surge") == 1;
        feed_free(&got);
    }
    assert_true(found >= 13);
}

/* What a meter shows over half a second that has a pulse for each 0.4 ml, on a bed that lets
 * through 2 % more each second. */
static double counted(double t, double flow, double turn) {
    double pulses[2];
    for (int k = 0; k < 2; k++) {
        const double brews = fmax(0, fmin(t - 0.5 * k, 31) - 1), fill = 6 * (1 - exp(-brews / 1.2));
        pulses[k] = floor((fill + flow * brews * (1 + 0.01 * brews)) / 0.4 + turn);
    }
    return 0.8 * (pulses[0] - pulses[1]);
}

/* The figures go in steps of 0.8 ml/s, and flicker by one all shot; now and then the logger writes
 * one between two.  No rise by a single count is evidence of a loss.  (9 of these 16 logs had 19;
 * one may remain.) */
static void a_count_more_or_less_is_none(void **state) {
    size_t told = 0;
    for (uint64_t seed = 0; seed < 16; seed++) {
        shot_text text = {0};
        shot_random random = shot_random_at(seed, 60);
        const double flow = 1.4 + 0.1 * (double)seed, turn = shot_random_uniform(&random);
        shot_text_add(&text, "time,pressure,flow\n");
        for (int i = 0; i < 340; i++) {
            const double t = i / 10.0, part = shot_random_uniform(&random);
            const double shown = counted(t, flow, turn), next = counted(t + 0.004, flow, turn);
            shot_text_add_format(&text, "%.1f,%.2f,%.2f\n", t,
                                 pressed(t) + 0.03 * shot_random_normal(&random),
                                 shown + part * (next - shown));
        }
        told += final_count_of("surges", &text, "surge");
    }
    assert_true(told <= 1);
}

/* A shot of which the flow falls as the bed is pressed, by what a meter has counted in each second,
 * in pulses of half a millilitre, that a logger of 8 Hz repeats until the next; `loss` of the
 * resistance from 18 s on.  How many surges are found. */
static size_t found_by_gate(uint64_t seed, double loss) {
    shot_text text = {0};
    shot_random random = shot_random_at(seed, 40);
    const double bed = 3 + shot_random_uniform(&random), turn = shot_random_uniform(&random);
    double water = 0, last = 0, shown = 0;
    shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
    for (int ms = 0; ms < 34000; ms++) {
        const double t = ms / 1000.0, brews = ramp(t, 1, 0.1) - ramp(t, 31, 0.1);
        const double pressure = 9 * (ramp(t, 5, 2.2) - ramp(t, 31, 0.3));
        const double fills = 6 * (1 - ramp(t, 5, 0.4));
        water += 0.001 * brews * (fills + pressure / bed / (1 - loss * ramp(t, 18, 0.5)));
        if (ms % 1000 == 0) {
            const double count = floor(water / 0.5 + turn);
            shown = 0.5 * (count - last);
            last = count;
        }
        if (ms % 125 == 60)
            shot_text_add_format(&text, "%.3f,%.2f,%.2f\n", t,
                                 pressure + 0.02 * shot_random_normal(&random), shown);
    }
    return final_count_of("surges", &text, "surge");
}

/* Each figure is the mean of a second, of whose pressure it tells: one count more or less is one
 * sample that is off, not eight, and the flow of a second in which the pressure rose is no low one
 * at full pressure.  A loss of half the resistance shows, by five counts. */
static void a_count_a_second_is_one_sample(void **state) {
    size_t none = 0, found = 0;
    for (uint64_t seed = 0; seed < 12; seed++) {
        none += found_by_gate(seed, 0);
        found += found_by_gate(seed, 0.5) == 1;
    }
    assert_true(none <= 1);
    assert_true(found >= 11);
}

/* The flow of a bed that still wets falls until the puck opens at 18 s: the lowest samples are off
 * the median of their neighbours, and without them the onset comes out late, by 0.04 s in the mean
 * of these.  Each onset scatters by 0.03 s, their mean by 0.01 s. */
static void the_corner_at_the_onset_counts(void **state) {
    double sum = 0;
    enum { SHOTS = 6 };
    for (uint64_t seed = 1; seed <= SHOTS; seed++) {
        feed got = surges(&(plan){.loss = 0.3,
                                  .takes = 0.4,
                                  .wets = 0.6,
                                  .meter = true,
                                  .rate = 10,
                                  .noise = 0.03,
                                  .seed = seed},
                          "surges");
        assert_int_equal(final_count(got.out.bytes, "surge"), 1);
        sum += mark_number(final_line(got.out.bytes, "surge", 0), "from");
        feed_free(&got);
    }
    assert_close(sum / SHOTS, 18, 0.03);
}

/* Onto a scale the basket empties over a second, like no shape of an opening; doubt about the shape
 * must not make the scale count for more beside a clean meter. */
static void a_slow_basket_does_not_spoil_the_size(void **state) {
    feed got = surges(&(plan){.loss = 0.4,
                              .drains = 1,
                              .meter = true,
                              .scale = true,
                              .rate = 50,
                              .noise = 0.01,
                              .seed = 17},
                      "surges");
    const char *line = final_line(got.out.bytes, "surge", 0);
    assert_non_null(line);
    assert_close(mark_number(line, "value"), 40, 2.5);
    assert_true(mark_number(line, "value.low") <= 40 && mark_number(line, "value.high") >= 40);
    feed_free(&got);
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
        cmocka_unit_test(a_fall_of_pressure_beside_a_noisy_meter_is_one),
        cmocka_unit_test(a_trend_is_no_surge_itself),
        cmocka_unit_test(a_count_more_or_less_is_none),
        cmocka_unit_test(a_count_a_second_is_one_sample),
        cmocka_unit_test(the_corner_at_the_onset_counts),
        cmocka_unit_test(a_slow_basket_does_not_spoil_the_size),
        cmocka_unit_test(each_of_many_is_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
