/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a log that starts when water is in or the pressure up, or ends soon after the pressure
 * came up, claims no instant that it does not hold, and no interval that is too sure. */
#include <support/feed.h>

#include <support/mark_text.h>

#include <math.h>

#include <shottrace/signal/random.h>

/* A basket that fills from 2 s on until `full`, a puck that creeps up to its pressure and is let go
 * at 30 s.  The line to it takes `loss` x flow^2. */
static const double full = 6, loss = 0.02;

static double flow_at(double t) {
    return t < 2 || t > 30 ? 0 : t < full ? 8 : 2 + 6 * exp(-(t - full) / 0.4);
}

static double puck_at(double t) {
    return t < full ? 0
           : t > 30 ? 9 * exp(-(t - 30) / 0.3)
                    : (8.2 + 0.04 * (t - full)) * (1 - exp(-(t - full) / 0.3));
}

/* The rows of from..to at 20 Hz, by a gauge at the puck or the pump. */
static feed cut(const char *gauge, double from, double to) {
    shot_random random = shot_random_at(3, 0);
    shot_text text = {0};
    shot_text_add_format(&text, "# gauge: %s\ntime,pressure,flow\n", gauge);
    for (double t = 0; t < to; t += 0.05) {
        const double flow = flow_at(t), noise = shot_random_normal(&random);
        const double line = strcmp(gauge, "pump") == 0 ? loss * flow * flow : 0;
        const double flow_noise = 0.05 * shot_random_normal(&random);
        if (t >= from)
            shot_text_add_format(&text, "%.2f,%.2f,%.2f\n", t, puck_at(t) + line + 0.03 * noise,
                                 flow + flow_noise);
    }
    return feed_log("segment", &text);
}

/* When the puck has its pressure, by the log that holds all. */
static double whole(const char *gauge) {
    feed got = cut(gauge, 0, 40);
    double from, to;
    assert_true(mark_of(got.out.bytes, "preinfusion", &from, &to));
    feed_free(&got);
    return to;
}

static void a_log_that_starts_in_the_brew_has_no_preinfusion(void **state) {
    const double reached = whole("puck");
    for (double late = 0.3; late < 10; late += 0.7) {
        feed got = cut("puck", reached + late, 40);
        const char *brew = last_line(got.out.bytes, "brew");
        double from, to;
        assert_false(mark_of(got.out.bytes, "preinfusion", &from, &to));
        assert_false(mark_of(got.out.bytes, "ramp", &from, &to));
        assert_true(isnan(mark_number(brew, "from.low")));
        assert_true(mark_number(brew, "from.high") >= reached);
        assert_close(mark_number(brew, "to"), 30, 0.1);
        assert_non_null(strstr(got.out.bytes, "the log starts when the brewing pressure"));
        feed_free(&got);
    }
}

/* What the pump has the puck may follow. */
static void a_gauge_at_the_pump_tells_no_start_then(void **state) {
    for (double late = 0.5; late < 10; late += 1.3) {
        feed got = cut("pump", full + 1 + late, 40);
        const char *brew = last_line(got.out.bytes, "brew");
        assert_true(isnan(mark_number(brew, "from.low")));
        assert_true(isnan(mark_number(brew, "from.high")));
        assert_non_null(strstr(got.out.bytes, "the puck may have reached its own seconds later"));
        feed_free(&got);
    }
}

/* Rows before the water or none: the pressure of the line is no soak. */
static void what_the_line_takes_is_no_soak(void **state) {
    for (double from = 0; from < 5; from += 0.5) {
        feed got = cut("pump", from, 40);
        double start, end;
        assert_false(mark_of(got.out.bytes, "soak", &start, &end));
        assert_true(mark_of(got.out.bytes, "fill", &start, &end));
        assert_close(end, full, 0.3);
        feed_free(&got);
    }
}

/* Without a meter the pump's pressure is all that shows, and the puck's comes up to 8 s later. */
static void a_gauge_at_the_pump_alone_may_be_early(void **state) {
    static const double fills = 6; /* s */
    for (int pump = 0; pump < 2; pump++) {
        shot_text text = {0};
        shot_text_add_format(&text, "# gauge: %s\ntime,pressure\n", pump ? "pump" : "puck");
        for (int i = 0; i < 800; i++) {
            const double t = i / 20.0;
            shot_text_add_format(&text, "%.2f,%.2f\n", t,
                                 t < 2 || t > 30 ? 0 : 9 * (1 - exp(-(t - 2) / 0.3)));
        }
        feed got = feed_log("segment", &text);
        const char *brew = last_line(got.out.bytes, "brew");
        assert_close(mark_number(brew, "from"), 2.77, 0.1);
        assert_true((mark_number(brew, "from.high") > 2 + fills) == (pump == 1));
        feed_free(&got);
    }
}

/* Nobody knows how far the pressure would have risen. */
static void a_log_that_ends_after_the_rise_leaves_its_end_open(void **state) {
    const double reached = whole("puck");
    for (double more = 1.5; more < 5; more += 0.5) {
        feed got = cut("puck", 0, reached + more);
        const double high = mark_number(last_line(got.out.bytes, "brew"), "from.high");
        assert_true(more < 2.5 ? high > reached + more - 0.2 : more < 3.5 || high < reached + 0.5);
        feed_free(&got);
    }
}

/* A basket that was filled to 8 bar for 4 s and let go is pre-wet, though the log ends sooner after
 * the pressure came up for good. */
static void a_log_that_ends_after_a_soak_was_no_fill(void **state) {
    for (double more = 1.5; more < 6; more += 0.5) {
        shot_text text = {0};
        shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
        for (double t = 0; t < 21 + more; t += 0.1) {
            const double up = t < 2   ? 0
                              : t < 6 ? 8 * (1 - exp(-(t - 2) / 0.3))
                                      : 8 * exp(-(t - 6) / 2);
            const double main_run = 9 * (1 - exp(-(t - 20) / 0.3));
            const double flow = t < 2 || (t > 6 && t < 20) ? 0 : t < 6 ? 4 : 2;
            shot_text_add_format(&text, "%.2f,%.2f,%.2f\n", t, t < 20 ? up : main_run, flow);
        }
        feed got = feed_log("segment", &text);
        double from, to;
        assert_true(mark_of(got.out.bytes, "preinfusion", &from, &to));
        assert_close(from, 2, 0.1);
        assert_close(to, 20.8, 0.2);
        assert_true(mark_of(got.out.bytes, "soak", &from, &to));
        assert_close(from, 6, 0.2);
        feed_free(&got);
    }
}

/* Water through an empty group: a third of a bar that comes and goes is no shot, and not two. */
static void little_pressure_is_not_two_shots(void **state) {
    shot_random random = shot_random_at(7, 0);
    shot_text text = {0};
    shot_text_add(&text, "time,pressure,flow\n");
    for (int i = 0; i < 300; i++) {
        const double on = i >= 20 && i < 250 ? 1 : 0;
        const double noise = 0.02 * shot_random_normal(&random);
        shot_text_add_format(&text, "%.1f,%.2f,%.1f\n", i / 10.0, 0.3 * on + noise, 8 * on);
    }
    feed got = feed_log("segment", &text);
    assert_null(strstr(got.out.bytes, "more than one shot"));
    assert_null(strstr(got.out.bytes, "# mark: brew"));
    feed_free(&got);
}

/* A pump that pauses for four seconds, on a needle read once a second, which goes straight from
 * nothing to full pressure: nobody changes the basket in that time. */
static void a_pause_does_not_part_two_shots(void **state) {
    static const double needle[] = {0.5, 0, 0.5, 2, 5,  9,   10, 10, 9, 9, 9, 9, 9, 7, 0,
                                    0,   0, 0.5, 9, 10, 9.5, 9,  9,  9, 5, 0, 0, 0, 0, 0};
    shot_text text = {0};
    shot_text_add(&text, "time,pressure,weight\n");
    for (size_t i = 0; i < sizeof needle / sizeof *needle; i++)
        shot_text_add_format(&text, "%zu,%.1f,%.0f\n", i, needle[i],
                             fmin(fmax(0, 2.5 * ((double)i - 8)), 35));
    feed got = feed_log("segment", &text);
    double from, to;
    assert_null(strstr(got.out.bytes, "more than one shot"));
    assert_true(mark_of(got.out.bytes, "brew", &from, &to));
    assert_close(to, 24, 1);
    feed_free(&got);
}

/* ---- a hand's figures ---- */

/* A gauge that a hand reads every second from 1 s on, until 20 s; the brew is at 9 bar. */
static feed by_hand(const double *first, size_t n) {
    shot_text text = {0};
    shot_text_add(&text, "time,pressure\n");
    for (size_t i = 0; i < 24; i++)
        shot_text_add_format(&text, "%zu,%.2f\n", i + 1, i < n ? first[i] : i < 20 ? 9.0 : 0.0);
    return feed_log("segment", &text);
}

/* A person starts pump and watch at once and writes the first figure down when there is pressure
 * already: nobody knows since when. */
static void the_first_figure_of_a_hand_may_show_pressure(void **state) {
    static const double wet[][9] = {{0.25, 0.5, 1, 4.5, 7, 8.5},
                                    {0.5, 0.5, 1, 0.5, 0, 0, 0, 0, 5},
                                    {0.25, 0.75, 0.25, 0, 2.25, 1.5, 1, 6.5, 9}};
    static const size_t rows[] = {6, 9, 9};
    for (size_t k = 0; k < 3; k++) {
        feed got = by_hand(wet[k], rows[k]);
        const char *line = last_line(got.out.bytes, "preinfusion");
        assert_true(mark_number(line, "from") == 1);
        assert_true(isnan(mark_number(line, "from.low")));
        assert_non_null(strstr(got.out.bytes, "the log starts when water was in already"));
        feed_free(&got);
    }
}

/* A zero that is off stands still; and a figure at rest may have been written a row late. */
static void a_zero_that_is_off_is_no_water(void **state) {
    static const double off[] = {0.25, 0.25, 0.25, 0.25, 3, 9}, dry[] = {0, 0.5, 1, 1, 1, 1, 9};
    feed got = by_hand(off, 6);
    assert_true(mark_number(last_line(got.out.bytes, "preinfusion"), "from") > 3);
    feed_free(&got);
    got = by_hand(dry, 7);
    const char *line = last_line(got.out.bytes, "preinfusion");
    assert_true(mark_number(line, "from") > 1 && mark_number(line, "from.low") <= 0);
    feed_free(&got);
}

/* ---- a line under pressure ---- */

/* The mains keep 3 bar on the line to the gauge; when the pump stops, at 30 s, its pressure leaks
 * down to that in seconds, and a trickle keeps it there. */
static void the_water_tells_the_end_where_pressure_stands(void **state) {
    shot_random random = shot_random_at(4, 0);
    shot_text text = {0};
    shot_text_add(&text, "time,pressure,flow\n");
    for (int i = 0; i <= 400; i++) {
        const double t = i / 10.0, lets_go = 9 * exp(-(t - 30) / 3.5);
        const double p = t < 2 ? 3 : t < 30 ? fmin(9, 3 + 3 * (t - 2)) : fmax(2.9, lets_go);
        const double flow = t < 2 ? 0 : t < 30 ? 2 + 6 * exp(-(t - 2)) : lets_go < 2.9 ? 0.4 : 0;
        shot_text_add_format(&text, "%.1f,%.2f,%.2f\n", t, p + 0.03 * shot_random_normal(&random),
                             fmax(0, flow + 0.05 * shot_random_normal(&random)));
    }
    feed got = feed_log("segment", &text);
    double from, to;
    assert_true(mark_of(got.out.bytes, "brew", &from, &to));
    assert_close(to, 30, 0.1); /* a row */
    assert_true(isnan(mark_number(last_line(got.out.bytes, "release"), "to")));
    feed_free(&got);
}

/* ---- a gauge whose line bleeds ---- */

/* 9 bar until 30 s, let go of as an exponential of 3 s, and a log that ends before all is gone. */
static feed bleeding(double every, double step) {
    shot_random random = shot_random_at(5, 0);
    shot_text text = {0};
    shot_text_add(&text, "time,pressure\n");
    for (double t = 0; t < 34; t += every) {
        const double p = t < 3 ? 0 : t < 30 ? fmin(9, 4 * (t - 3)) : 9 * exp(-(t - 30) / 3);
        const double shown = p + 0.1 * shot_random_normal(&random);
        shot_text_add_format(&text, "%.1f,%.2f\n", t, step * floor(shown / step + 0.5));
    }
    return feed_log("segment", &text);
}

/* Steps of half a bar, or a figure a second, hide a slow fall between two of them: the brew ends
 * where the fall starts, not where little is left. */
static void a_slow_fall_in_coarse_figures_ends_the_brew_where_it_starts(void **state) {
    static const double every[] = {0.1, 0.2, 1}, step[] = {0.5, 0.5, 0.25};
    for (size_t k = 0; k < 3; k++) {
        feed got = bleeding(every[k], step[k]);
        const char *line = last_line(got.out.bytes, "brew");
        assert_true(mark_number(line, "to.low") <= 30.05);
        assert_true(mark_number(line, "to.high") >= 30);
        assert_close(mark_number(line, "to"), 30, fmax(0.5, every[k]));
        feed_free(&got);
    }
}

/* A puck whose pressure comes up to 10.7 bar while it drinks ever less, on a log that starts on the
 * way: it looks like a restrictor before which the gauge sits.  That is a guess, and as no fill is
 * in the log, neither its end nor full pressure are told as sure. */
static void a_guess_of_a_restrictor_is_no_proof(void **state) {
    shot_random random = shot_random_at(9, 0);
    shot_text text = {0};
    shot_text_add(&text, "time,pressure,flow\n");
    for (double t = 5.5; t < 36; t += 0.1) {
        const double u = t - 5.5, p = t < 30 ? 10.7 - 2 * exp(-u / 0.25) : 0;
        const double q = t > 30 ? 0 : u < 0.35 ? 8 : 3.2 + 4.8 * exp(-(u - 0.35) / 0.5);
        shot_text_add_format(&text, "%.2f,%.2f,%.2f\n", t, p + 0.03 * shot_random_normal(&random),
                             q + 0.05 * shot_random_normal(&random));
    }
    feed got = feed_log("segment", &text);
    assert_non_null(strstr(got.out.bytes, "restrictor"));
    assert_true(mark_number(last_line(got.out.bytes, "brew"), "from.low") <= 5.5);
    assert_true(mark_number(last_line(got.out.bytes, "fill"), "to.low") < 5.5);
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_pause_does_not_part_two_shots),
        cmocka_unit_test(little_pressure_is_not_two_shots),
        cmocka_unit_test(a_log_that_starts_in_the_brew_has_no_preinfusion),
        cmocka_unit_test(a_gauge_at_the_pump_tells_no_start_then),
        cmocka_unit_test(what_the_line_takes_is_no_soak),
        cmocka_unit_test(a_gauge_at_the_pump_alone_may_be_early),
        cmocka_unit_test(a_log_that_ends_after_a_soak_was_no_fill),
        cmocka_unit_test(a_log_that_ends_after_the_rise_leaves_its_end_open),
        cmocka_unit_test(the_first_figure_of_a_hand_may_show_pressure),
        cmocka_unit_test(a_zero_that_is_off_is_no_water),
        cmocka_unit_test(the_water_tells_the_end_where_pressure_stands),
        cmocka_unit_test(a_guess_of_a_restrictor_is_no_proof),
        cmocka_unit_test(a_slow_fall_in_coarse_figures_ends_the_brew_where_it_starts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
