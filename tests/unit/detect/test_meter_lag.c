/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a flow meter that shows the mean of its gate is late by half of it, and behind a
 * restrictor the puck's pressure is worked out from the flow of the right instant; and how late a
 * meter is at its stop. */
#include <support/feed.h>

#include <support/mark_text.h>

#include <math.h>

#include "detect/meter_lag.h"

enum { ROWS = 200 };
static const double PERIOD = 0.1;
static const double WATER = 2, FULL = 6, K = 0.1; /* s, s, bar.s2/ml2 */

/* Water comes within a third of a second, 8 ml/s; from 5 s on the puck takes pressure, and has all
 * of its own at 6 s, when 2 ml/s are left. */
static double flow_at(double t) {
    const double comes = fmin(fmax((t - WATER) / 0.3, 0), 1);
    return 8 * comes - 6 * fmin(fmax(t - FULL + 1, 0), 1);
}

static double puck_at(double t) {
    return 8 * fmin(fmax(t - FULL + 1, 0), 1);
}

static double pump_at(double t) {
    return puck_at(t) + K * flow_at(t) * flow_at(t);
}

/* The mean over the last `gate` seconds, by the midpoint rule: the flow goes in straight pieces
 * with three corners, each of which costs 1/8 of a step's change at most. */
static double shown_at(double t, double gate) {
    enum { PARTS = 80 };
    double sum = 0;
    for (int i = 0; i < PARTS; i++)
        sum += flow_at(t - gate * (i + 0.5) / PARTS);
    return sum / PARTS;
}

/* The delay of a mean is half its length; the search goes in steps of 0.02 s, and a mean is not a
 * delay: its ends are rounder, which moves the best fit by less than a sample. */
static void a_gate_is_late_by_half_of_it(void **state) {
    double t[ROWS], p[ROWS], q[ROWS];
    for (size_t i = 0; i < ROWS; i++)
        t[i] = PERIOD * (double)i, p[i] = pump_at(t[i]);
    const shot_channel_view pressure = {.t = t, .y = p, .n = ROWS};
    const shot_channel_view flow = {.t = t, .y = q, .n = ROWS};
    for (double gate = 0.1; gate < 1.2; gate += 0.2) {
        for (size_t i = 0; i < ROWS; i++)
            q[i] = shown_at(t[i], gate);
        assert_close(shot_meter_lag(&pressure, &flow, 0, 0, 5), gate / 2, 0.05);
    }
}

/* Where there is nothing to look at there is no lag; where the flow never answers, none either. */
static void without_a_fill_there_is_no_lag(void **state) {
    double t[ROWS], p[ROWS], q[ROWS] = {0};
    for (size_t i = 0; i < ROWS; i++)
        t[i] = PERIOD * (double)i, p[i] = pump_at(t[i]);
    const shot_channel_view pressure = {.t = t, .y = p, .n = ROWS};
    const shot_channel_view flow = {.t = t, .y = q, .n = ROWS};
    assert_true(shot_meter_lag(&pressure, &flow, 0, 0, NAN) == 0);
    assert_true(shot_meter_lag(&pressure, &flow, 0, 0, 0.15) == 0);
    assert_true(shot_meter_lag(&pressure, &flow, 0, 0, 5) == 0);
}

/* 95 % of 8 bar are reached at 5.95 s, of a plateau that may be taken 3 % low at 5.92 s.  The loss
 * of 0.4 bar at 2 ml/s is still shown as up to 6.4 bar a second later by a meter that counts over
 * 0.9 s: taken as it is shown, the puck would be full some 0.4 s late. */
static void full_pressure_behind_a_restrictor_is_not_late_by_the_gate(void **state) {
    shot_text text = {0};
    double from, to;
    shot_text_add(&text, "# gauge: pump\ntime,pressure,flow\n");
    for (size_t i = 0; i < ROWS; i++) {
        const double t = PERIOD * (double)i;
        shot_text_add_format(&text, "%.1f,%.2f,%.2f\n", t, pump_at(t), shown_at(t, 0.9));
    }
    feed got = feed_chain("segment", text.bytes, text.length, 0);
    assert_int_equal(got.status, SHOT_OK);
    assert_true(mark_of(got.out.bytes, "preinfusion", &from, &to));
    assert_close(to, 5.95, 0.2);
    feed_free(&got);
    shot_text_free(&text);
}

/* 2 ml/s that stop at 10 s, behind a meter of first order: what it shows afterwards is 2 ml/s times
 * its time constant, less what is still to come a second later (3.6 % at 0.3 s).  By lines between
 * rows h = 0.1 s apart that is h2 / (12 lag) too much, 0.006 at most. */
static void a_stop_shows_the_lag(void **state) {
    double t[ROWS], q[ROWS];
    const shot_instant off = {10, 9.95, 10.05};
    shot_channel_view flow = {.t = t, .y = q, .n = ROWS, .noise = {.spacing = PERIOD}};
    for (double lag = 0.15; lag < 0.38; lag += 0.05) {
        for (size_t i = 0; i < ROWS; i++) {
            t[i] = PERIOD * (double)i;
            q[i] = t[i] < 1 ? 0 : t[i] <= 10 ? 2 : 2 * exp(-(t[i] - 10) / lag);
        }
        assert_close(shot_meter_lag_at_stop(&flow, off), lag * (1 - exp(-1 / lag)), 0.01);
    }
    flow.n = 108; /* the log ends 0.7 s behind the stop */
    assert_true(shot_meter_lag_at_stop(&flow, off) == 0);
    flow.n = ROWS;
    for (size_t i = 0; i < ROWS; i++)
        q[i] = t[i] > 1 && t[i] <= 10 ? 2 : 0;
    assert_true(shot_meter_lag_at_stop(&flow, off) == 0);
    assert_true(shot_meter_lag_at_stop(&flow, (shot_instant){NAN, NAN, NAN}) == 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_stop_shows_the_lag),
        cmocka_unit_test(a_gate_is_late_by_half_of_it),
        cmocka_unit_test(without_a_fill_there_is_no_lag),
        cmocka_unit_test(full_pressure_behind_a_restrictor_is_not_late_by_the_gate),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
