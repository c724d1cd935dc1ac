/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a brew whose pressure and flow are let go of evenly ends where the pressure falls at
 * once, and its interval reaches back to where the flow went; one whose pressure was eased off just
 * before, with water running on, ends where it falls for good; one that ends in a hole of the log
 * may have ended anywhere in it; one low row of a noisy meter is no end; and a log that ends with
 * the row that shows the stop tells it, one that ends with a low row of one channel does not. */
#include <support/feed.h>

#include <support/mark_text.h>

#include <math.h>

#include <shottrace/signal/random.h>

static double pressure_at(double t) {
    const double u = t - 24;
    if (t < 6)
        return t < 2 ? 0 : 0.05 * (t - 2);
    if (t < 24)
        return 9 * (1 - exp(-(t - 6) / 0.3));
    const double eased = 9 - 1.3 * (u - 0.5 * (1 - exp(-u / 0.5)));
    return t < 30 ? eased : 1.85 * exp(-(t - 30) / 0.08);
}

/* A puck lets go of what the pressure made of it, so that the flow goes fast at first. */
static double flow_at(double t) {
    static const double eased[] = {2.1, 1.25, 0.95, 0.75, 0.4, 0, 0, 0};
    if (t < 24 || t >= 30)
        return t < 2 || t > 24 ? 0 : t < 6 ? 6 : eased[0];
    const int i = (int)(t - 24);
    return eased[i] + (t - 24 - i) * (eased[i + 1] - eased[i]);
}

static void a_taper_ends_where_the_pressure_falls(void **state) {
    static const double rates[] = {8, 16, 25};
    for (size_t r = 0; r < sizeof rates / sizeof *rates; r++) {
        shot_random random = shot_random_at(r, 0);
        shot_text text = {0};
        shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
        for (int i = 0; i < 35 * rates[r]; i++) {
            const double t = i / rates[r], noise = 0.03 * shot_random_normal(&random);
            const double off = 0.08 * shot_random_normal(&random);
            shot_text_add_format(&text, "%.3f,%.3f,%.3f\n", t, pressure_at(t) + noise,
                                 flow_at(t) + off);
        }
        feed got = feed_log("segment", &text);
        const char *brew = last_line(got.out.bytes, "brew");
        assert_close(mark_number(brew, "to"), 30, 0.25);
        assert_true(mark_number(brew, "to.low") < 28.5);
        feed_free(&got);
    }
}

/* Eased off at 24 s to half, while water runs, and let go at 26 s. */
static double eased_at(double t) {
    if (t < 24)
        return t < 2 ? 0 : t < 6 ? 0.05 * (t - 2) : 9 * (1 - exp(-(t - 6) / 0.3));
    const double left = 4 + 5 * exp(-(fmin(t, 26) - 24) / 0.8);
    return t < 26 ? left : left * exp(-(t - 26) / 0.12);
}

static double through(double pressure, double t) {
    return t < 2 || t > 26 ? 0 : t < 6 ? 6 : pressure / 4;
}

static void a_brew_eased_off_ends_where_it_stops(void **state) {
    static const double rates[] = {4, 6, 8};
    for (size_t r = 0; r < sizeof rates / sizeof *rates; r++)
        for (int meter = 0; meter < 2; meter++) {
            shot_random random = shot_random_at(r, 0);
            shot_text text = {0};
            shot_text_add_format(&text, "# gauge: puck\ntime,pressure%s\n", meter ? ",flow" : "");
            for (int i = 0; i < 31 * rates[r]; i++) {
                const double t = i / rates[r], bar = eased_at(t);
                shot_text_add_format(&text, "%.3f,%.3f", t,
                                     bar + 0.1 * shot_random_normal(&random));
                if (meter)
                    shot_text_add_format(&text, ",%.3f",
                                         through(bar, t) + 0.1 * shot_random_normal(&random));
                shot_text_add(&text, "\n");
            }
            feed got = feed_log("segment", &text);
            assert_close(mark_number(last_line(got.out.bytes, "brew"), "to"), 26, 0.3);
            feed_free(&got);
        }
}

/* Turned up just before the pump stops at 26.3 s, in rows 0.3 s apart. */
static double turned_up(double t) {
    const double held = t < 3 ? 0 : 5 * fmin(1, (t - 3) / 1.5);
    if (t > 26.3)
        return 8.75 * exp(-(t - 26.3) / 0.25);
    return fmin(8.75, held + 2.5 * fmax(0, t - 24));
}

static void a_fall_within_a_row_began_in_it(void **state) {
    for (int phase = 0; phase < 5; phase++) {
        shot_random random = shot_random_at(phase, 0);
        shot_text text = {0};
        shot_text_add(&text, "# gauge: puck\ntime,pressure\n");
        for (int i = 0; i < 105; i++) {
            const double t = 0.3 * i + 0.05 * phase;
            shot_text_add_format(&text, "%.2f,%.2f\n", t,
                                 turned_up(t) + 0.05 * shot_random_normal(&random));
        }
        feed got = feed_log("segment", &text);
        const char *brew = last_line(got.out.bytes, "brew");
        assert_true(mark_number(brew, "to.low") <= 26.3);
        assert_true(mark_number(brew, "to.high") >= 26.3);
        assert_close(mark_number(brew, "to"), 26.3, 0.3);
        feed_free(&got);
    }
}

/* Rows are missing from `from` to `to`, and the pump stops at 25 s. */
static feed log_with_hole(double from, double to) {
    shot_random random = shot_random_at(5, 0);
    shot_text text = {0};
    shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
    for (int i = 0; i < 600; i++) {
        const double t = i / 20.0;
        const double noise = 0.03 * shot_random_normal(&random);
        const double bar = t < 6 ? 0 : 9 * (1 - exp(-(fmin(t, 25) - 6) / 0.3));
        const double water = t < 2 || t > 25 ? 0 : t < 6 ? 6 : 2;
        if (t < from || t > to)
            shot_text_add_format(&text, "%.2f,%.3f,%.3f\n", t,
                                 noise + (t < 25 ? bar : 9 * exp(-(t - 25) / 0.9)), water + noise);
    }
    return feed_log("segment", &text);
}

static void an_end_that_nobody_saw_is_anywhere_in_the_hole(void **state) {
    for (double from = 23.3; from < 25; from += 0.4) {
        feed got = log_with_hole(from, from + 2.1);
        const char *brew = last_line(got.out.bytes, "brew");
        assert_true(mark_number(brew, "to.low") < 25);
        assert_true(mark_number(brew, "to.high") > 25);
        feed_free(&got);
    }
    feed got = log_with_hole(18, 20.1); /* and elsewhere it tells nothing of the end */
    const char *brew = last_line(got.out.bytes, "brew");
    assert_true(mark_number(brew, "to.high") - mark_number(brew, "to.low") < 0.3);
    feed_free(&got);
}

/* A puck that takes a quarter of a millilitre a second: single rows of the noisy meter show less
 * than half of that, and the coarse gauge nothing of it.  The pump stops at 30 s. */
static void a_lone_low_row_of_the_flow_is_no_end(void **state) {
    for (uint64_t seed = 0; seed < 10; seed++) {
        shot_random random = shot_random_at(seed, 7);
        shot_text text = {0};
        shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
        for (int i = 0; i < 20 * 36; i++) {
            const double t = i / 20.0, up = t < 6 ? 0 : 9 * (1 - exp(-(t - 6) / 0.3));
            const double bar = t < 30 ? up : 9 * exp(-(t - 30) / 0.6);
            const double water = t < 2 || t > 30 ? 0 : t < 6 ? 6 : 0.25;
            shot_text_add_format(&text, "%.2f,%.2f,%.2f\n", t, round(4 * bar) / 4,
                                 water + 0.05 * shot_random_normal(&random));
        }
        feed got = feed_log("segment", &text);
        assert_close(mark_number(last_line(got.out.bytes, "brew"), "to"), 30, 0.15);
        feed_free(&got);
    }
}

/* 9 bar and 2 ml/s until 30.3 s; rows until 31 s, of which the last alone shows more than the brew.
 */
static feed ends_at_once(double rate, double last_pressure, double last_flow) {
    shot_random random = shot_random_at(35, (uint64_t)rate);
    shot_text text = {0};
    const int last = (int)ceil(30.3 * rate);
    shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
    for (int i = 0; i <= last; i++) {
        const double t = i / rate, water = t < 2 ? 0 : t < 5 ? 6 : 2;
        const double bar = t < 5 ? 0 : 9 * (1 - exp(-(t - 5) / 0.5));
        shot_text_add_format(&text, "%.3f,%.2f,%.2f\n", t,
                             (i == last ? last_pressure : bar) + 0.03 * shot_random_normal(&random),
                             (i == last ? last_flow : water) + 0.05 * shot_random_normal(&random));
    }
    return feed_log("segment", &text);
}

static void the_last_row_may_show_the_stop(void **state) {
    static const double rates[] = {1, 2, 5};
    for (size_t r = 0; r < sizeof rates / sizeof *rates; r++) {
        feed got = ends_at_once(rates[r], 3, 0);
        const char *brew = last_line(got.out.bytes, "brew");
        assert_close(mark_number(brew, "to"), 30.3, 0.6 / rates[r]);
        assert_true(mark_number(brew, "to.low") <= 30.3 && 30.3 <= mark_number(brew, "to.high"));
        feed_free(&got);
        feed eased = ends_at_once(rates[r], 3, 2), blink = ends_at_once(rates[r], 9, 0);
        assert_non_null(strstr(eased.out.bytes, "no end of the brew"));
        assert_non_null(strstr(blink.out.bytes, "no end of the brew"));
        feed_free(&eased);
        feed_free(&blink);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_taper_ends_where_the_pressure_falls),
        cmocka_unit_test(a_brew_eased_off_ends_where_it_stops),
        cmocka_unit_test(a_fall_within_a_row_began_in_it),
        cmocka_unit_test(an_end_that_nobody_saw_is_anywhere_in_the_hole),
        cmocka_unit_test(a_lone_low_row_of_the_flow_is_no_end),
        cmocka_unit_test(the_last_row_may_show_the_stop),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
