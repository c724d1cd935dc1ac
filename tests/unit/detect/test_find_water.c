/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a meter that counts for a while and shows the figure in all rows until the next tells
 * no instant within that while, and the interval says so. */
#include <support/feed.h>

#include <support/mark_text.h>

#include <math.h>

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

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(water_may_have_come_at_any_time_of_the_first_figure),
        cmocka_unit_test(what_is_less_than_a_count_passes_unseen),
        cmocka_unit_test(a_figure_that_stands_is_no_water_that_runs_on),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
