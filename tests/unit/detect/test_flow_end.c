/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a brew whose pressure a hand eases off to nothing, and the water with it, lasts until
 * nothing runs: its end is told there, and without a meter the interval reaches there; a log that
 * ends on the way shows no end.  A stop is none of that. */
#include <support/feed.h>

#include <support/mark_text.h>

#include <math.h>

#include <shottrace/signal/random.h>

/* Water at 2 s, 8 bar from 6 s on; eased off from 24 s on, evenly, to nothing. */
typedef struct easing {
    double takes; /* s */
    double row;   /* s */
    bool meter;
    double until; /* s: the log ends */
} easing;

static double pressure_at(const easing *one, double t) {
    const double up = 8 * fmin(1, fmax(0, t - 5)), left = 1 - (t - 24) / one->takes;
    return t < 24 ? up : 8 * fmax(0, left);
}

static double flow_at(const easing *one, double t) {
    return t < 2 ? 0 : t < 5 ? 6 : pressure_at(one, t) / 2.5;
}

static feed segmented(const easing *one) {
    shot_random random = shot_random_at((uint64_t)(one->takes * 8), 1);
    shot_text text = {0};
    shot_text_add_format(&text, "# gauge: puck\ntime,pressure%s\n", one->meter ? ",flow" : "");
    for (double t = 0; t < one->until; t += one->row) {
        shot_text_add_format(&text, "%.3f,%.2f", t,
                             pressure_at(one, t) + 0.03 * shot_random_normal(&random));
        if (one->meter)
            shot_text_add_format(&text, ",%.2f",
                                 flow_at(one, t) + 0.05 * shot_random_normal(&random));
        shot_text_add(&text, "\n");
    }
    return feed_log("segment", &text);
}

static void water_that_is_let_down_ends_when_none_runs(void **state) {
    static const double rows[] = {0.04, 0.1, 0.2};
    for (size_t r = 0; r < sizeof rows / sizeof *rows; r++)
        for (double takes = 3.5; takes < 7; takes += 1) {
            const easing one = {takes, rows[r], true, 36};
            feed got = segmented(&one);
            const char *brew = last_line(got.out.bytes, "brew");
            const double nothing = 24 + takes;
            assert_close(mark_number(brew, "to"), nothing, 0.6);
            assert_true(mark_number(brew, "to.low") <= nothing);
            assert_true(mark_number(brew, "to.high") >= nothing - 0.2);
            assert_true(mark_number(brew, "to.high") - mark_number(brew, "to.low") < 0.6 * takes);
            feed_free(&got);
        }
}

static void without_a_meter_it_may_last_until_the_pressure_is_gone(void **state) {
    for (double takes = 3.5; takes < 7; takes += 1) {
        const easing one = {takes, 0.1, false, 36};
        feed got = segmented(&one);
        const char *brew = last_line(got.out.bytes, "brew");
        assert_true(mark_number(brew, "to.low") <= 24.1);
        assert_close(mark_number(brew, "to.high"), 24 + takes * (1 - 0.5 / 8), 0.3);
        feed_free(&got);
    }
}

static void a_log_that_ends_on_the_way_shows_no_end(void **state) {
    const easing one = {6, 0.1, true, 27};
    feed got = segmented(&one);
    assert_true(isnan(mark_number(last_line(got.out.bytes, "brew"), "to")));
    assert_null(last_line(got.out.bytes, "release"));
    feed_free(&got);
}

/* A hand holds about 7 bar, never quite still.  Wherever the log ends, it saw no end. */
static void a_hand_that_wobbles_has_not_stopped(void **state) {
    for (double until = 20; until < 23; until += 0.2)
        for (int meter = 0; meter < 2; meter++) {
            shot_random random = shot_random_at((uint64_t)(until * 8), 2);
            shot_text text = {0};
            shot_text_add_format(&text, "# gauge: puck\ntime,pressure%s\n", meter ? ",flow" : "");
            for (double t = 0; t < until; t += 0.1) {
                const double wobbles = 0.25 * sin(4 * t);
                const double p = t < 5 ? 0 : (7 + wobbles) * fmin(1, t - 5);
                const double q = t < 2 ? 0 : t < 5 ? 6 : p / 3 + 4 * 0.25 * cos(4 * t);
                shot_text_add_format(&text, "%.1f,%.2f", t, p + 0.03 * shot_random_normal(&random));
                if (meter)
                    shot_text_add_format(&text, ",%.2f", q + 0.05 * shot_random_normal(&random));
                shot_text_add(&text, "\n");
            }
            feed got = feed_log("segment", &text);
            assert_true(isnan(mark_number(last_line(got.out.bytes, "brew"), "to")));
            feed_free(&got);
        }
}

static void a_stop_is_told_where_it_was(void **state) {
    for (int meter = 0; meter < 2; meter++) {
        const easing one = {0.8, 0.1, meter == 1, 36};
        feed got = segmented(&one);
        const char *brew = last_line(got.out.bytes, "brew");
        assert_close(mark_number(brew, "to"), 24, 0.2);
        assert_true(mark_number(brew, "to.high") < 24.4);
        feed_free(&got);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(water_that_is_let_down_ends_when_none_runs),
        cmocka_unit_test(without_a_meter_it_may_last_until_the_pressure_is_gone),
        cmocka_unit_test(a_log_that_ends_on_the_way_shows_no_end),
        cmocka_unit_test(a_hand_that_wobbles_has_not_stopped),
        cmocka_unit_test(a_stop_is_told_where_it_was),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
