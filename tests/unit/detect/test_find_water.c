/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a meter that counts for a while and shows the figure in all rows until the next tells
 * no instant within that while, and the interval says so; counts that alternate hide no slow fill;
 * figures in coarse steps make no water out of a step, nor a late one out of a slow rise. */
#include <support/feed.h>

#include <support/mark_text.h>

#include <math.h>
#include <string.h>

#include <shottrace/signal/random.h>

/* A meter that counts water by `pulse` ml, or all of it where that is 0, for `gate` seconds each;
 * its first figure is ready `phase` seconds into the log. */
typedef struct counting_meter {
    double phase, gate, pulse;
} counting_meter;

static double counted(const counting_meter *meter, double water) {
    return meter->pulse > 0 ? meter->pulse * floor(water / meter->pulse) : water;
}

/* Water from `on` to 25 s.  The pressure goes with the water. */
static feed log_of(double rate, counting_meter meter, double on) {
    shot_text text = {0};
    double water = 0, last = 0, figure = 0, ready = meter.phase;
    shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
    for (int i = 0; i <= 30000; i++) {
        const double t = i * 0.001;
        water += t >= on && t < 25 ? 0.001 * (t < on + 4 ? 6 : 2.6 + 0.1 * sin(t)) : 0;
        if (t >= ready) {
            figure = (counted(&meter, water) - last) / meter.gate;
            last = counted(&meter, water);
            ready += meter.gate;
        }
        if (fmod(i, 1000 / rate) < 0.5) {
            const double up = 9 * fmin(1, fmax(0, t - on - 4));
            shot_text_add_format(&text, "%.3f,%.2f,%.2f\n", t,
                                 t < 25 ? up : 9 * exp(-(t - 25) / 0.1), figure);
        }
    }
    return feed_log("segment", &text);
}

/* Does the last mark of the preinfusion say that it began at `on`, and no wider than `most`? */
static void expect_start(const feed *got, double on, double most) {
    const char *line = last_line(got->out.bytes, "preinfusion");
    assert_true(mark_number(line, "from.low") <= on);
    assert_true(mark_number(line, "from.high") >= on);
    assert_true(mark_number(line, "from.high") - mark_number(line, "from.low") < most);
}

static void water_may_have_come_at_any_time_of_the_first_figure(void **state) {
    static const double rates[] = {5, 10, 50};
    for (size_t i = 0; i < sizeof rates / sizeof *rates; i++)
        for (double on = 2.15; on < 3; on += 0.2) {
            feed got = log_of(rates[i], (counting_meter){0.05, 1, 0}, on);
            expect_start(&got, on, 3); /* of a second each */
            feed_free(&got);
        }
}

/* Of a part of the gate the first figure may be one count, or none. */
static void what_is_less_than_a_count_passes_unseen(void **state) {
    static const double rates[] = {20, 100};
    for (size_t i = 0; i < sizeof rates / sizeof *rates; i++)
        for (double on = 2.02; on < 2.5; on += 0.04) {
            feed got = log_of(rates[i], (counting_meter){0.5, 0.5, 0.5}, on);
            expect_start(&got, on, 1);
            feed_free(&got);
        }
}

/* The last figure stands for up to a second after the pressure fell. */
static void a_figure_that_stands_is_no_water_that_runs_on(void **state) {
    for (double phase = 0.15; phase < 1; phase += 0.2) {
        feed got = log_of(10, (counting_meter){phase, 1, 0}, 2.5);
        const char *line = mark_line(got.out.bytes, "release", 0);
        assert_non_null(line);
        assert_close(mark_number(line, "from"), 25, 0.2);
        feed_free(&got);
    }
}

/* A counter of 0.4 ml a pulse that shows the count of the last half second in every row: a fill of
 * 2 ml/s alternates between 1.6 and 2.4. */
static void counts_that_alternate_hide_no_slow_fill(void **state) {
    const double on = 3.64, pulse = 0.4, gate = 0.5;
    shot_text text = {0};
    shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
    for (double t = 0.048; t < 44; t += 0.1) {
        const double until[] = {t, t - gate};
        double count[2];
        for (int k = 0; k < 2; k++) {
            const double fill = fmin(16, fmax(0, until[k] - on)), brew = fmin(38, until[k]) - 20;
            count[k] =
                floor((2.05 * fill + 6.3 * fmin(2, fmax(0, brew)) + 2.2 * fmax(0, brew)) / pulse);
        }
        const double p = t > 38 ? 0 : t < 20 ? 0.1 * fmax(0, t - 5) : fmin(9, 1.5 + 4 * (t - 20));
        shot_text_add_format(&text, "%.3f,%.2f,%.2f\n", t, p, (count[0] - count[1]) * pulse / gate);
    }
    feed got = feed_log("segment", &text);
    expect_start(&got, on, 1.5);
    feed_free(&got);
}

/* Two minutes of rest by a gauge that a person reads to half a bar once a second, and that now and
 * then lies a step off. */
static void a_step_by_noise_in_a_long_rest_is_no_water(void **state) {
    for (uint64_t seed = 0; seed < 20; seed++) {
        shot_random random = shot_random_at(seed, 0);
        shot_text text = {0};
        shot_text_add(&text, "# gauge: puck\ntime,pressure\n");
        for (int t = 0; t < 180; t++) {
            const double p = t < 120 || t > 150 ? 0 : fmin(9, 2.0 * (t - 120));
            const double shown = round(2 * (p + 0.15 * shot_random_normal(&random))) / 2;
            shot_text_add_format(&text, "%d,%.1f\n", t, shown);
        }
        feed got = feed_log("segment", &text);
        const char *line = last_line(got.out.bytes, "preinfusion");
        assert_non_null(line);
        assert_close(mark_number(line, "from"), 120, 1.6);
        assert_true(mark_number(line, "from.high") >= 120);
        feed_free(&got);
    }
}

/* By a tenth of a bar a second, in steps of a quarter written with one decimal, between which the
 * figures flicker: the rise begins where they leave 0 for good, in the mean of ten within 1 s. */
static void a_slow_rise_in_coarse_steps_begins_where_rest_is_left(void **state) {
    double late = 0;
    for (uint64_t seed = 0; seed < 10; seed++) {
        shot_random random = shot_random_at(seed, 0);
        shot_text text = {0};
        shot_text_add(&text, "# gauge: puck\ntime,pressure\n");
        for (double t = 0; t < 50; t += 0.1) {
            const double p = t < 3 || t > 45 ? 0 : fmin(9, 0.1 * (t - 2) + 0.4 * fmax(0, t - 20));
            const double shown = round(4 * (p + 0.03 * shot_random_normal(&random))) / 4;
            shot_text_add_format(&text, "%.1f,%.1f\n", t, shown);
        }
        feed got = feed_log("segment", &text);
        const char *line = last_line(got.out.bytes, "preinfusion");
        assert_non_null(line);
        assert_true(mark_number(line, "from.low") <= 3 && mark_number(line, "from.high") >= 3);
        late += mark_number(line, "from") - 3;
        feed_free(&got);
    }
    assert_close(late / 10, 0, 1);
}

/* Whoever writes 1 bar at 4 s and 2 at 6 has water in by then, though nobody knows since when. */
static void a_figure_of_pressure_ends_the_doubt_about_water(void **state) {
    static const char log[] = "time,pressure\n0,0\n2,0\n4,1\n6,2\n8,2\n9,5\n10,9\n15,9\n20,9\n"
                              "25,8.5\n30,8.5\n31,4\n32,0\n";
    shot_text text = {0};
    shot_text_add(&text, log);
    feed got = feed_log("segment", &text);
    const char *line = last_line(got.out.bytes, "preinfusion");
    assert_true(mark_number(line, "from.low") < 0);
    assert_true(mark_number(line, "from.high") >= 2 && mark_number(line, "from.high") < 5.1);
    feed_free(&got);
}

/* A meter that counts for 1 s and shows water 0.6 s after the basket is under pressure. */
static void a_late_meter_tells_no_water_later_than_the_pressure(void **state) {
    for (double on = 2.1; on < 2.5; on += 0.1) {
        shot_text text = {0};
        shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
        for (double t = 0; t < 32; t += 0.125) {
            const double gate = floor(t - 0.05), counts = gate < 5 ? 5 : 2;
            const double flow = gate < 3 || gate > 30 ? 0 : counts + 0.1 * fmod(gate, 3);
            const double up = fmin(9, fmax(0, 2 * (t - on)));
            shot_text_add_format(&text, "%.3f,%.2f,%.2f\n", t, t < 30 ? up : 0, flow);
        }
        feed got = feed_log("segment", &text);
        const char *line = last_line(got.out.bytes, "preinfusion");
        assert_true(mark_number(line, "from.low") <= on);
        assert_true(mark_number(line, "from.high") >= on);
        assert_true(mark_number(line, "from.high") < on + 0.5);
        feed_free(&got);
    }
}

/* A gauge that comes down to its zero from 0.4 bar while nothing runs, and no meter: the pressure
 * is up at 5 s, and water was in before; not when the log began, though the gauge showed most then.
 */
static void a_zero_that_drifts_is_no_water(void **state) {
    for (double takes = 6; takes < 20; takes += 4) {
        shot_random random = shot_random_at((uint64_t)takes, 5);
        shot_text text = {0};
        shot_text_add(&text, "# gauge: puck\ntime,pressure\n");
        for (double t = 0; t < 34; t += 0.1) {
            const double p = t < 5 || t > 30 ? 0 : 9 * fmin(1, (t - 5) / 0.8);
            shot_text_add_format(&text, "%.1f,%.2f\n", t,
                                 p + 0.4 * exp(-t / takes) + 0.03 * shot_random_normal(&random));
        }
        feed got = feed_log("segment", &text);
        const char *line = last_line(got.out.bytes, "preinfusion");
        assert_null(strstr(got.out.bytes, "when water was in already"));
        assert_close(mark_number(line, "from"), 5, 0.3);
        assert_close(mark_number(line, "from.high"), 5, 0.3);
        feed_free(&got);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(water_may_have_come_at_any_time_of_the_first_figure),
        cmocka_unit_test(what_is_less_than_a_count_passes_unseen),
        cmocka_unit_test(a_figure_that_stands_is_no_water_that_runs_on),
        cmocka_unit_test(counts_that_alternate_hide_no_slow_fill),
        cmocka_unit_test(a_step_by_noise_in_a_long_rest_is_no_water),
        cmocka_unit_test(a_slow_rise_in_coarse_steps_begins_where_rest_is_left),
        cmocka_unit_test(a_figure_of_pressure_ends_the_doubt_about_water),
        cmocka_unit_test(a_zero_that_drifts_is_no_water),
        cmocka_unit_test(a_late_meter_tells_no_water_later_than_the_pressure),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
