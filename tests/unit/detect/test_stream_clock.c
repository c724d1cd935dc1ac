/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a cup fills evenly on the clock of its stream, however the pressure goes; the clock is
 * time where nothing tells the pressure, and never stands; and so a first drop that comes long
 * before the pump is found where it fell, not where the pump made a stream of it. */
#include <support/feed.h>

#include <support/mark_text.h>

#include <math.h>

#include "detect/stream_clock.h"

enum { ROWS = 400 };
static const double PERIOD = 0.1;
static const double PUMP = 20, HELD = 2, BREWING = 9; /* s, bar */

static double pressure_at(double t) {
    return t < 5 ? 0 : t < PUMP ? HELD : fmin(BREWING, HELD + 3.5 * (t - PUMP));
}

static shot_channel_view gauge(double *t, double *y) {
    for (size_t i = 0; i < ROWS; i++) {
        t[i] = PERIOD * (double)i;
        y[i] = pressure_at(t[i]);
    }
    return (shot_channel_view){.t = t, .y = y, .n = ROWS};
}

/* Between 30 and 40 s, at 9 bar, the clock keeps pace with time; held at 2 bar it goes 2/9 as fast;
 * without pressure as if at half a bar.  The trapezoidal rule is exact for these straight lines but
 * in the step in which a corner lies: rounding alone. */
static void the_clock_goes_as_the_pressure_drives(void **state) {
    double t[ROWS], y[ROWS];
    const shot_channel_view view = gauge(t, y);
    stream_clock clock;
    assert_int_equal(stream_clock_new(&view, 0, 0, &clock), SHOT_OK);
    stream_clock_set(&clock, 30, 39);
    assert_close(stream_clock_at(&clock, 30), 30, 1e-9);
    assert_close(stream_clock_at(&clock, 39), 39, 1e-9);
    const double held = stream_clock_at(&clock, 15) - stream_clock_at(&clock, 10);
    assert_close(held, 5 * HELD / BREWING, 1e-9);
    const double none = stream_clock_at(&clock, 4) - stream_clock_at(&clock, 1);
    assert_close(none, 3 * 0.5 / BREWING, 1e-9);
    stream_clock_free(&clock);
}

/* Also before the first and behind the last sample of the gauge, with a scale that lags. */
static void the_clock_can_be_turned_back(void **state) {
    double t[ROWS], y[ROWS];
    const shot_channel_view view = gauge(t, y);
    stream_clock clock;
    assert_int_equal(stream_clock_new(&view, 0, 0.4, &clock), SHOT_OK);
    stream_clock_set(&clock, 12, 13);
    for (double at = -3; at < 50; at += 0.37) {
        const double shown = stream_clock_at(&clock, at);
        const shot_instant back = stream_clock_time(&clock, (shot_instant){shown, shown, NAN});
        assert_close(back.at, at, 1e-9); /* rounding */
        assert_close(back.low, at, 1e-9);
        assert_true(isnan(back.high));
    }
    stream_clock_free(&clock);
}

static void without_a_gauge_the_clock_is_time(void **state) {
    stream_clock clock;
    assert_int_equal(stream_clock_new(&(shot_channel_view){0}, 0, 0.4, &clock), SHOT_OK);
    stream_clock_set(&clock, 3, 4);
    assert_true(stream_clock_at(&clock, 7.25) == 7.25);
    assert_true(stream_clock_time(&clock, (shot_instant){7, 6, 8}).low == 6);
    stream_clock_free(&clock);
}

/* From the first drop at 14 s on 0.1 g/s for each bar: 0.2 g/s while the puck is held, 0.9 g/s with
 * the pump, by a scale with a step of 0.1 g and, every other row, half a gram of noise, so that the
 * weight comes clear of it only with the pump's stream.  In whole steps of a tenth of a second a
 * stream of 0.2 g/s under that noise cannot be placed to less than some tenths of a second; the
 * pump's stream alone, carried back, would start at some 19 s. */
static void a_trickle_before_the_pump_is_the_first_drop(void **state) {
    shot_text text = {0};
    double weight = 0, from, to;
    shot_text_add(&text, "# gauge: puck\n# scale.lag: 0 s\ntime,pressure,weight\n");
    for (size_t i = 0; i < ROWS; i++) {
        const double t = PERIOD * (double)i, noise = i % 2 == 0 ? 0.25 : -0.25;
        weight += t > 14 ? 0.1 * pressure_at(t) * PERIOD : 0;
        shot_text_add_format(&text, "%.1f,%.2f,%.1f\n", t, pressure_at(t),
                             round((weight + noise) / 0.1) * 0.1);
    }
    feed got = feed_chain("segment", text.bytes, text.length, 0);
    assert_int_equal(got.status, SHOT_OK);
    assert_true(mark_of(got.out.bytes, "first-drip", &from, &to));
    assert_close(from, 14, 0.7);
    feed_free(&got);
    shot_text_free(&text);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_clock_goes_as_the_pressure_drives),
        cmocka_unit_test(the_clock_can_be_turned_back),
        cmocka_unit_test(without_a_gauge_the_clock_is_time),
        cmocka_unit_test(a_trickle_before_the_pump_is_the_first_drop),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
