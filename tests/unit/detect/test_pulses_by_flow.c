/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: single figures of a flow meter neither make nor move a pulse where the flow alone
 * tells; a pulse ends where the pump stops, however late the meter is; and noise of a soak and a
 * row of zeros are no pulses. */
#include <support/feed.h>

#include <support/mark_text.h>
#include <support/marks_of_log.h>
#include <support/turns.h>

#include <math.h>
#include <string.h>

#include <shottrace/signal/random.h>

/* Two pulses of 1 s and the main run by flow alone at 8 Hz, as strays change some rows. */
static size_t pulses_by_flow_with(int row, int count, double shown) {
    shot_text text = {0};
    shot_text_add(&text, "time,flow\n");
    for (int i = 0; i < 240; i++) {
        const double t = i / 8.0;
        const bool on = (t >= 2 && t < 3) || (t >= 6 && t < 7) || (t >= 10 && t < 26);
        const double flow = on ? (t < 10 ? 6 : 2) : 0;
        shot_text_add_format(&text, "%.3f,%.2f\n", t, i >= row && i < row + count ? shown : flow);
    }
    return final_count_of("pulses", &text, "pulse");
}

/* A row or two without flow while the pump runs, one with a little while it stands, and one far
 * below nothing where it stops. */
static void stray_figures_of_the_flow_are_no_pulses(void **state) {
    assert_int_equal(pulses_by_flow_with(0, 0, 0), 2);
    assert_int_equal(pulses_by_flow_with(19, 1, 0), 2);
    assert_int_equal(pulses_by_flow_with(120, 2, 0), 2);
    assert_int_equal(pulses_by_flow_with(64, 1, 1.5), 2);
    assert_int_equal(pulses_by_flow_with(56, 1, -3), 2);
}

/* Of many figures of a meter at rest a few lie far apart by noise alone: they end no gap. */
static void a_fast_meter_with_noise_starts_no_pulse_early(void **state) {
    for (uint64_t seed = 0; seed < 10; seed++) {
        shot_random random = shot_random_at(seed, 0);
        shot_text text = {0};
        shot_text_add(&text, "time,flow\n");
        for (int i = 0; i < 50 * 40; i++) {
            const double t = i / 50.0 + 0.01;
            const bool on = t > 3 && (t > 23 || fmod(t - 3, 5) < 1.5);
            shot_text_add_format(&text, "%.2f,%.2f\n", t,
                                 (on && t < 38 ? 3 : 0) + 0.1 * shot_random_normal(&random));
        }
        feed got = feed_log("pulses", &text);
        assert_int_equal(final_count(got.out.bytes, "pulse"), 4);
        for (int i = 0; i < 4; i++) {
            const char *line = final_line(got.out.bytes, "pulse", i);
            /* between the rows on either side */
            assert_close(mark_number(line, "from"), 3 + 5 * i, 0.021);
            assert_close(mark_number(line, "to"), 4.5 + 5 * i, 0.021);
        }
        feed_free(&got);
    }
}

/* Of three pulses of 1.2 s from 3 s on every 4 s: whether the intervals hold their starts and
 * stops, and the stops are no further off than that. */
static void expect_edges(const feed *got, double off) {
    assert_int_equal(final_count(got->out.bytes, "pulse"), 3);
    for (int i = 0; i < 3; i++) {
        const char *line = final_line(got->out.bytes, "pulse", i);
        const double on_at = 3 + 4 * i, off_at = on_at + 1.2;
        assert_true(mark_number(line, "from.low") <= on_at);
        assert_true(mark_number(line, "from.high") >= on_at);
        assert_true(mark_number(line, "to.low") <= off_at);
        assert_true(mark_number(line, "to.high") >= off_at);
        assert_close(mark_number(line, "to"), off_at, off);
    }
}

/* Water runs in those pulses and from 15 s on. */
static double driven(double t) {
    return t >= 3 && t < 38 && (t >= 15 || fmod(t - 3, 4) < 1.2) ? 6 : 0;
}

/* A meter that answers as a lag of first order: the flow begins to fall where the pump stops, and
 * goes on falling for a second and more.  A row each `every` ms. */
static feed lagged_log(double lag, int every) {
    shot_random random = shot_random_at(5, 0);
    shot_text text = {0};
    double shown = 0;
    shot_text_add(&text, "time,flow\n");
    for (int i = 0; i < 1000 * 40; i++) {
        shown += (driven(i / 1000.0) - shown) * 0.001 / lag;
        if (i % every == 0)
            shot_text_add_format(&text, "%.3f,%.3f\n", i / 1000.0,
                                 shown + 0.05 * shot_random_normal(&random));
    }
    return feed_log("pulses", &text);
}

static void a_fall_begins_where_the_pump_stops(void **state) {
    static const int every[] = {50, 75, 100};
    for (size_t k = 0; k < sizeof every / sizeof *every; k++)
        for (double lag = 0.05; lag < 0.45; lag += 0.1) {
            feed got = lagged_log(lag, every[k]);
            expect_edges(&got, fmax(0.1, every[k] / 900.0));
            feed_free(&got);
        }
}

/* A meter that counts over a gate shows the stop in the row in which it has news: the pump stopped
 * since the news before, which the interval says. */
static void a_figure_that_stands_tells_since_when(void **state) {
    for (int gate = 100; gate <= 500; gate += 200)
        for (int phase = 0; phase < gate; phase += gate / 5) {
            shot_text text = {0};
            double water = 0, counted = 0, before = 0, shown = 0;
            shot_text_add(&text, "time,flow\n");
            for (int i = 0; i < 1000 * 40; i++) {
                water += 0.895 * driven(i / 1000.0) / 1000; /* no whole number of counts */
                counted = floor(water / 0.05) * 0.05;
                if ((i + phase) % gate == 0) {
                    shown = (counted - before) * 1000 / gate;
                    before = counted;
                }
                if (i % 10 == 0)
                    shot_text_add_format(&text, "%.3f,%.3f\n", i / 1000.0, shown);
            }
            feed got = feed_log("pulses", &text);
            expect_edges(&got, gate / 1000.0);
            feed_free(&got);
        }
}

/* A valve lets the pressure go within a tenth of a second: it falls ever more slowly, and a line
 * through all of its fall would meet the level before it too early. */
static void a_pressure_that_goes_at_once_ends_the_pulse_there(void **state) {
    shot_random random = shot_random_at(6, 0);
    shot_text text = {0};
    double p = 0;
    shot_text_add(&text, "time,pressure\n");
    for (int i = 0; i < 1000 * 42; i++) {
        const double goal = driven(i / 1000.0) > 0 ? 6 : 0;
        p += (goal - p) * 0.001 / (goal > p ? 0.15 : 0.05);
        if (i % 20 == 0)
            shot_text_add_format(&text, "%.3f,%.3f\n", i / 1000.0,
                                 p + 0.03 * shot_random_normal(&random));
    }
    feed got = feed_log("pulses", &text);
    expect_edges(&got, 0.03);
    feed_free(&got);
}

/* Five runs of 0.6 s every 1.5 s from 2 s on, which take a full basket up by steps, and the main
 * run.  The puck keeps four fifths of its pressure in each gap, and the meter, a lag of first
 * order, has hardly come to rest when the pump goes on. */
static void quick_pulses_need_not_let_the_pressure_go(void **state) {
    for (int every = 10; every <= 100; every += 45) {
        shot_random random = shot_random_at(9, 0);
        shot_text text = {0};
        double p = 0, shown = 0;
        shot_text_add(&text, "time,pressure,flow\n");
        for (int i = 0; i < 1000 * 40; i++) {
            const double t = i / 1000.0;
            const bool on = t >= 2 && t < 36 && (t >= 9.5 || fmod(t - 2, 1.5) < 0.6);
            p += (on && p < 8.5 ? 2 : on ? 0 : t < 36 ? -p / 4.5 : -p / 0.1) / 1000;
            shown += ((on ? p < 8.4 ? 8 : 2 : 0) - shown) * 0.001 / 0.18;
            if (i % every == 0)
                shot_text_add_format(&text, "%.3f,%.3f,%.3f\n", t,
                                     p + 0.03 * shot_random_normal(&random),
                                     shown + 0.05 * shot_random_normal(&random));
        }
        feed got = feed_log("pulses", &text);
        assert_int_equal(final_count(got.out.bytes, "pulse"), 5);
        for (int i = 0; i < 5; i++) /* two rows of the slowest log */
            assert_close(mark_number(final_line(got.out.bytes, "pulse", i), "to"), 2.6 + 1.5 * i,
                         0.2);
        feed_free(&got);
    }
}

/* A fill of 6 ml/s from 2 to 6 s, a soak until 20 s in which the puck takes `trickle` ml/s at
 * `held` bar, and the brew; with noise of both channels, and one row of zeros at `zero`. */
static size_t pulses_of(double held, double trickle, double noise, double zero, uint64_t seed) {
    shot_random random = shot_random_at(seed, 3);
    shot_text text = {0};
    shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
    for (int i = 0; i < 20 * 50; i++) {
        const double t = i / 20.0, up = 9 * (1 - exp(-(t - 20) / 0.4));
        const double p = t < 4 ? 0 : t < 6 ? held * (t - 4) / 2 : t < 20 ? held : fmax(held, up);
        const double q = t < 2 ? 0 : t < 6 ? 6 : t < 20 ? trickle : t < 20.3 ? 6 : 2;
        const double on = fabs(t - zero) < 0.01 ? 0 : t < 45 ? 1 : exp(-(t - 45) / 0.1);
        const double bar = on * p + (on > 0 ? 0.4 * noise * shot_random_normal(&random) : 0);
        const double water = t > 45 ? 0 : on * q;
        shot_text_add_format(&text, "%.2f,%.2f,%.2f\n", t, bar,
                             water + (on > 0 ? noise * shot_random_normal(&random) : 0));
    }
    return final_count_of("pulses", &text, "pulse");
}

static void noise_of_a_soak_is_no_pump(void **state) {
    size_t held = 0, shut = 0;
    for (uint64_t seed = 0; seed < 20; seed++) {
        held += pulses_of(2, 1, 0.25, NAN, seed);
        shut += pulses_of(0.35, 0, 0.25, NAN, seed);
    }
    assert_int_equal(held, 0);
    assert_int_equal(shut, 20); /* the fill alone */
}

static void a_row_of_zeros_is_no_gap(void **state) {
    for (double zero = 4.8; zero < 5.9; zero += 0.2)
        assert_int_equal(pulses_of(3, 1, 0.05, zero, 1), 0);
}

/* Bursts of four strokes, 0.08 s, of a pump before a puck that fills up, by a meter that lags, in
 * rows 0.1 s apart: some
 * are seen by the flow, some by the pressure, some by neither.  None that is told ends before it
 * starts, nor starts before the one before ended. */
static void bursts_between_rows_stay_in_order(void **state) {
    for (uint64_t seed = 456; seed < 456 + turns(10); seed++) { /* the first was one of them */
        shot_random random = shot_random_at(seed, 9);
        const double period = 0.35 + 0.45 * shot_random_uniform(&random);
        double pressure = 0, fill = 0, shown = 0, row = 0, end = -INFINITY;
        shot_text text = {0};
        shot_text_add(&text, "time,pressure,flow\n");
        for (int i = 0; i < 30000; i++) {
            const double t = 0.001 * i;
            const bool on = t > 10 ? t < 26 : t > 1.5 && fmod(t, period) < 0.08;
            const double flow = on ? 9 * fmax(0, 1 - pressure / 12) : 0;
            fill += 0.001 * flow;
            pressure += 0.001 * (fill > 4 ? (flow - pressure / 6) / 0.6 : 0);
            shown += (flow - shown) * 0.001 / 0.1;
            if (t < row)
                continue;
            row = t + 0.1 + 0.008 * shot_random_normal(&random);
            shot_text_add_format(&text, "%.3f,%.2f,%.1f\n", t,
                                 0.07 *
                                     round((pressure + 0.03 * shot_random_normal(&random)) / 0.07),
                                 shown + 0.05 * shot_random_normal(&random));
        }
        feed got = feed_log("pulses", &text);
        for (const char *at = got.out.bytes; (at = strstr(at, "# mark: pulse ")) != NULL; at++) {
            if (strstr(at, " level=") == NULL || strstr(at, " level=") > strchr(at, '\n'))
                continue; /* provisional */
            assert_true(mark_number(at, "from") >= end);
            end = mark_number(at, "to");
            assert_true(end >= mark_number(at, "from"));
        }
        feed_free(&got);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(stray_figures_of_the_flow_are_no_pulses),
        cmocka_unit_test(a_fast_meter_with_noise_starts_no_pulse_early),
        cmocka_unit_test(a_fall_begins_where_the_pump_stops),
        cmocka_unit_test(a_figure_that_stands_tells_since_when),
        cmocka_unit_test(a_pressure_that_goes_at_once_ends_the_pulse_there),
        cmocka_unit_test(quick_pulses_need_not_let_the_pressure_go),
        cmocka_unit_test(noise_of_a_soak_is_no_pump),
        cmocka_unit_test(a_row_of_zeros_is_no_gap),
        cmocka_unit_test(bursts_between_rows_stay_in_order),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
