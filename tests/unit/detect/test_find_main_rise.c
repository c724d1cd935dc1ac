/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: where a pause on the way up lasts about as long as a plateau must, the interval of full
 * pressure holds both; a clear pause and a clear plateau keep a short one; a spike is no level;
 * a puck that still comes up to the level at which it soaks when the pump goes on has soaked, and a
 * slow log finds where that ends; a pressure that stood before a shut valve, and was let go when
 * water ran, is not full pressure. */
#include <support/feed.h>

#include <support/mark_text.h>

#include <math.h>

#include <shottrace/signal/random.h>

/* Up to 6 bar within a second from 5 s on, and after a pause to 9 bar from 6 s + `pause` on. */
static double pressure_at(double t, double pause) {
    const double on = t < 28 ? 1 : exp(-(t - 28) / 0.1), after = t - 6 - pause;
    return on * (6 * fmin(1, fmax(0, t - 5)) + 3 * fmin(1, fmax(0, after)));
}

static void expect_full(double pause, uint64_t log, double low, double high, double most) {
    shot_random random = shot_random_at(31, log);
    shot_text text = {0};
    shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
    for (int i = 0; i < 320; i++) {
        const double t = 0.1 * i, water = t < 2 || t > 28 ? 0 : t < 5 ? 6 : 2;
        shot_text_add_format(&text, "%.1f,%.2f,%.2f\n", t,
                             pressure_at(t, pause) + 0.03 * shot_random_normal(&random),
                             water + 0.05 * shot_random_normal(&random));
    }
    feed got = feed_log("segment", &text);
    const char *line = last_line(got.out.bytes, "brew");
    const double from = mark_number(line, "from.low"), to = mark_number(line, "from.high");
    if (!(from <= low && high <= to && to - from < most))
        fail_msg("a pause of %g s: %g to %g", pause, from, to);
    feed_free(&got);
}

/* The first level that is not exceeded by 3 % is 6 or 9 bar over 1.03; 95 % of that are reached at
 * 5.92 s, or 6.77 s + the pause. */
static void a_pause_of_three_seconds_may_be_a_plateau(void **state) {
    for (uint64_t log = 0; log < 10; log++) {
        expect_full(1.5, log, 8.27, 8.27, 0.6);
        expect_full(2.9, log, 5.92, 9.67, 5);
        expect_full(3.1, log, 5.92, 5.92, 5);
        expect_full(5, log, 5.92, 5.92, 0.6);
    }
}

/* One row of 20 bar beside the stop, which a cleaner cannot tell from the fall, is no main run. */
static void a_spike_at_the_end_moves_no_plateau(void **state) {
    static const double rates[] = {8, 20};
    for (size_t r = 0; r < sizeof rates / sizeof *rates; r++)
        for (double back = -0.3; back < 0.5; back += 0.2) {
            const int last = (int)((28 - back) * rates[r]);
            shot_text text = {0};
            shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
            for (int i = 0; i < 32 * rates[r]; i++) {
                const double t = i / rates[r], water = t < 2 || t > 28 ? 0 : t < 5 ? 6 : 2;
                const double bar = pressure_at(t, 0), spiked = i == last ? 20 : bar;
                shot_text_add_format(&text, "%.3f,%.2f,%.2f\n", t, spiked, water);
            }
            feed got = feed_log("segment", &text);
            assert_close(mark_number(last_line(got.out.bytes, "brew"), "from"), 6.77, 0.25);
            assert_close(mark_number(last_line(got.out.bytes, "brew"), "to"), 28, 0.3);
            feed_free(&got);
        }
}

/* From 5 s on to 2.2 bar, from `on` to 9 bar, each with a time constant of half a second: after
 * 1.3 s the level still gains 0.33 bar/s.  The pump gives what the puck takes, and 3 ml/s from
 * there on. */
static void expect_soak(double on, double rate, double near) {
    shot_random random = shot_random_at(33, (uint64_t)rate);
    shot_text text = {0};
    shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
    for (int i = 0; i < 35 * rate; i++) {
        const double t = i / rate, into = t - 5, later = t - on;
        const double low = into > 0 ? 2.2 * (1 - exp(-into / 0.5)) : 0;
        const double high = later > 0 ? 6.8 * (1 - exp(-later / 0.5)) : 0;
        const double off = t > 30 ? exp(-(t - 30) / 0.1) : 1;
        const double water = t < 2 || t > 30 ? 0 : t < 5 ? 6 : later < 0 ? 2 + 4 * exp(-into) : 3;
        shot_text_add_format(&text, "%.3f,%.2f,%.2f\n", t,
                             (low + high) * off + 0.01 * shot_random_normal(&random),
                             water + 0.05 * shot_random_normal(&random));
    }
    feed got = feed_log("segment", &text);
    const char *ramp = last_line(got.out.bytes, "ramp");
    assert_non_null(last_line(got.out.bytes, "soak"));
    assert_close(mark_number(ramp, "from"), on, near);
    assert_true(mark_number(ramp, "from.low") <= on && on <= mark_number(ramp, "from.high"));
    feed_free(&got);
}

static void a_pause_that_never_rests_is_a_soak(void **state) {
    expect_soak(6.3, 10, 0.3);
    expect_soak(6.3, 5, 0.3);
    expect_soak(9, 2, 0.6);
    expect_soak(9, 1, 1);
}

/* 9 bar before a shut valve, which lets water by from 2 s on and opens 0.2 s later; then a shot at
 * 8.5 bar, which comes up from 5 s on within 2 s: 95 % of a plateau of 8.5 over 1.03 bar are
 * reached at 6.84 s. */
static void what_stood_before_the_valve_is_not_full_pressure(void **state) {
    static const double rates[] = {4, 10, 40};
    for (size_t r = 0; r < sizeof rates / sizeof *rates; r++) {
        shot_random random = shot_random_at(34, r);
        shot_text text = {0};
        shot_text_add(&text, "# gauge: pump\ntime,pressure,flow\n");
        for (int i = 0; i < 35 * rates[r]; i++) {
            const double t = i / rates[r], off = t > 30 ? exp(-(t - 30) / 0.1) : 1;
            const double bar = t < 2.2 ? 9 : 8.5 * fmin(1, fmax(0, (t - 5) / 2));
            const double water = t < 2 || t > 30 ? 0 : t < 5 ? 2 * fmin(1, t - 2) : 2;
            shot_text_add_format(&text, "%.3f,%.2f,%.2f\n", t,
                                 bar * off + 0.03 * shot_random_normal(&random),
                                 water + 0.05 * shot_random_normal(&random));
        }
        feed got = feed_log("segment", &text);
        assert_close(mark_number(last_line(got.out.bytes, "brew"), "from"), 6.84, 0.2);
        assert_close(mark_number(last_line(got.out.bytes, "ramp"), "from"), 5, 0.4);
        feed_free(&got);
    }
}

/* Held at 1.6 bar from 4.5 s, at 4 bar from 10.5 s, and at 9 bar from 17 s on. */
static double staged_pressure(double t) {
    const double first = fmin(1, fmax(0, (t - 4) / 0.5)), second = fmin(1, fmax(0, (t - 10) / 0.5));
    return 1.6 * first + 2.4 * second + 5 * fmin(1, fmax(0, t - 16));
}

/* The fill ends at half of the first level at which the puck is held, not of the last. */
static void a_pre_wetting_in_two_stages_fills_once(void **state) {
    shot_random random = shot_random_at(32, 0);
    shot_text text = {0};
    shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
    for (int i = 0; i < 300; i++) {
        const double t = 0.1 * i, water = t < 2 ? 0 : t < 4.3 ? 6 : t < 16 ? 1.2 : 2.5;
        shot_text_add_format(&text, "%.1f,%.2f,%.2f\n", t,
                             staged_pressure(t) + 0.03 * shot_random_normal(&random),
                             water + 0.05 * shot_random_normal(&random));
    }
    feed got = feed_log("segment", &text);
    assert_close(mark_number(last_line(got.out.bytes, "fill"), "to"), 4.25, 0.15);
    assert_close(mark_number(last_line(got.out.bytes, "ramp"), "from"), 16, 0.3);
    feed_free(&got);
}

/* 4 bar for 6 s, then 6.4 bar, which is brewed at, and 9.2 bar in the end: 4 bar are more than 60 %
 * of the plateau, but no plateau themselves.  The main rise starts behind them. */
static void a_stage_below_the_main_share_is_a_soak(void **state) {
    shot_random random = shot_random_at(33, 0);
    shot_text text = {0};
    shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
    for (int i = 0; i < 320; i++) {
        const double t = 0.1 * i, water = t < 2 ? 0 : t < 4 ? 6 : 2;
        const double p = 4 * fmin(1, fmax(0, (t - 4) / 0.5)) +
                         2.4 * fmin(1, fmax(0, (t - 10) / 0.5)) +
                         2.8 * fmin(1, fmax(0, (t - 18) / 0.5));
        shot_text_add_format(&text, "%.1f,%.2f,%.2f\n", t, p + 0.03 * shot_random_normal(&random),
                             water + 0.05 * shot_random_normal(&random));
    }
    feed got = feed_log("segment", &text);
    assert_close(mark_number(last_line(got.out.bytes, "ramp"), "from"), 10, 0.3);
    assert_close(mark_number(last_line(got.out.bytes, "soak"), "to"), 10, 0.3);
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_pause_of_three_seconds_may_be_a_plateau),
        cmocka_unit_test(a_pause_that_never_rests_is_a_soak),
        cmocka_unit_test(a_spike_at_the_end_moves_no_plateau),
        cmocka_unit_test(what_stood_before_the_valve_is_not_full_pressure),
        cmocka_unit_test(a_pre_wetting_in_two_stages_fills_once),
        cmocka_unit_test(a_stage_below_the_main_share_is_a_soak),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
