/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what one channel hides from the phases, another tells, or the interval holds it: a
 * gauge that a valve shuts in with its pressure, pulses that fill the basket under no pressure, a
 * basket that fills behind a gauge at the pump, a puck that is let go of before it brews. */
#include <support/feed.h>

#include <support/mark_text.h>

#include <math.h>
#include <string.h>

#include <shottrace/signal/random.h>

typedef double curve(double t);

/* A shot of 45 s at 20 Hz; a channel that is NULL is not logged. */
typedef struct hidden_shot {
    const char *gauge; /* NULL: the log does not say */
    curve *pressure, *flow, *weight;
} hidden_shot;

static feed segmented(const hidden_shot *one) {
    shot_random random = shot_random_at(18, 0);
    shot_text text = {0};
    if (one->gauge != NULL)
        shot_text_add_format(&text, "# gauge: %s\n", one->gauge);
    shot_text_add_format(&text, "# scale.lag: 0 s\ntime [s],pressure [bar]%s%s\n",
                         one->flow != NULL ? ",flow [ml/s]" : "",
                         one->weight != NULL ? ",weight [g]" : "");
    for (int i = 0; i < 20 * 45; i++) {
        const double t = 0.05 * i;
        shot_text_add_format(&text, "%.2f,%.2f", t,
                             one->pressure(t) + 0.04 * shot_random_normal(&random));
        if (one->flow != NULL)
            shot_text_add_format(&text, ",%.2f", one->flow(t));
        if (one->weight != NULL)
            shot_text_add_format(&text, ",%.1f",
                                 one->weight(t) + 0.03 * shot_random_normal(&random));
        shot_text_add_format(&text, "\n");
    }
    return feed_log("segment | pulses", &text);
}

static double edge(const feed *got, const char *kind, const char *name) {
    const char *line = last_line(got->out.bytes, kind);
    assert_non_null(line);
    return mark_number(line, name);
}

/* ---- water at 2 s, 9 bar from 5 s, drops from 12 s, off at 30 s ---- */

static const double off = 30;

static double up(double t) {
    return 9 * fmin(1, fmax(0, t - 4));
}

static double flow(double t) {
    return t < 2 || t > off ? 0 : t < 4 ? 7 : 2.5;
}

/* The puck goes on dripping for half a second. */
static double weight(double t) {
    return 2 * fmax(0, fmin(t, off + 0.5) - 12);
}

/* The gauge loses 3 % in a second, or 10 %: never half of it before the log ends, or never all. */
static double leaks(double t) {
    return up(t) * exp(-0.03 * fmax(0, t - off));
}

static double leaks_faster(double t) {
    return up(t) * exp(-0.1 * fmax(0, t - off));
}

static void a_brew_ends_where_the_gauge_is_shut_in(void **state) {
    const hidden_shot shots[] = {{"pump", leaks, flow, NULL},
                                 {NULL, leaks, NULL, weight},
                                 {"pump", leaks_faster, flow, weight},
                                 {NULL, leaks_faster, NULL, weight}};
    for (size_t i = 0; i < sizeof shots / sizeof *shots; i++) {
        feed got = segmented(&shots[i]);
        assert_close(edge(&got, "brew", "to"), off, 0.3);
        assert_true(edge(&got, "brew", "to.low") <= off);
        assert_true(edge(&got, "brew", "to.high") >= off);
        feed_free(&got);
    }
}

/* A choked puck takes no water while the pump holds its pressure to the end of the log. */
static void a_pump_that_holds_its_pressure_has_not_stopped(void **state) {
    const hidden_shot shots[] = {{"pump", up, flow, NULL}, {NULL, up, NULL, weight}};
    for (size_t i = 0; i < sizeof shots / sizeof *shots; i++) {
        feed got = segmented(&shots[i]);
        assert_true(isnan(edge(&got, "brew", "to")));
        feed_free(&got);
    }
}

/* The puck lets go at once, as the cup shows, and the gauge takes 7 s. */
static double leaks_away(double t) {
    return up(t) * exp(-0.4 * fmax(0, t - off));
}

static void a_puck_may_let_go_before_its_gauge(void **state) {
    const hidden_shot one = {"pump", leaks_away, flow, weight};
    feed got = segmented(&one);
    assert_close(edge(&got, "release", "to"), off + log(18) / 0.4, 0.3); /* what the gauge shows */
    assert_true(edge(&got, "release", "to.low") < off + 0.3);
    feed_free(&got);
}

/* ---- filled under 6 bar from 2 s to 9 s, let go of, and brewed from 20 s to 40 s ---- */

static double blooms(double t) {
    return t < 2 || (t > 9 && t < 20) || t > 40 ? 0 : t < 9 ? 6 : 9 * fmin(1, t - 20);
}

static double drips_late(double t) {
    return 2 * fmax(0, fmin(t, 40) - 22);
}

static double drips_twice(double t) {
    return 2 * (fmax(0, fmin(t, 9) - 4) + fmax(0, fmin(t, 40) - 22));
}

static void a_puck_that_is_let_go_of_before_a_drop_fell_is_no_shot(void **state) {
    const hidden_shot one = {"pump", blooms, NULL, drips_late};
    feed got = segmented(&one);
    assert_null(strstr(got.out.bytes, "more than one shot"));
    assert_close(edge(&got, "brew", "from"), 20.95, 0.3);
    assert_close(edge(&got, "brew", "to"), 40, 0.3);
    feed_free(&got);
    const hidden_shot two = {"pump", blooms, NULL, drips_twice};
    got = segmented(&two);
    assert_non_null(strstr(got.out.bytes, "more than one shot"));
    feed_free(&got);
}

/* ---- the pump runs at 2..4 s, at 7..9 s, and from 12 s on; the first run fills the basket ---- */

static double pulsed(double t) {
    return t > 8 && t < 9    ? 6 * (t - 8)
           : t > 9 && t < 12 ? 6 * exp(-3 * (t - 9))
           : t < 12          ? 0
           : t < off         ? 9 * fmin(1, t - 12)
                             : 9 * exp(-(t - off) / 0.1);
}

static void pulses_under_no_pressure_may_have_ended_the_fill(void **state) {
    const hidden_shot one = {"puck", pulsed, NULL, weight};
    feed got = segmented(&one);
    assert_int_equal(final_count(got.out.bytes, "pulse"), 1); /* the other one shows nothing */
    assert_true(edge(&got, "fill", "to.low") <= 4);
    assert_true(edge(&got, "fill", "to.high") >= 4);
    feed_free(&got);
}

/* The gauge at the pump shows 3 bar from the start, the puck behind its valve comes up at 8 s. */
static double before_a_valve(double t) {
    return t < 2 ? 0 : t < 8 ? 3 : t < off ? fmin(9, 3 + 6 * (t - 8)) : 9 * exp(-(t - off) / 0.1);
}

static void a_basket_fills_unseen_behind_a_gauge_at_the_pump(void **state) {
    const hidden_shot one = {"pump", before_a_valve, NULL, weight};
    feed got = segmented(&one);
    assert_true(edge(&got, "fill", "to.low") <= 8);
    assert_true(edge(&got, "fill", "to.high") >= 8);
    feed_free(&got);
}

/* A row shows what was counted in it: two or three counts, and one or none when the puck is full.
 */
static double counts(double t) {
    const int more = (int)lround(t / 0.05) % 2;
    return t < 2 || t > off ? 0 : t < 4 ? 2.5 * (2 + more) : 2.5 * more;
}

static double held(double t) {
    return t < off ? up(t) : 9 * exp(-(t - off) / 0.1);
}

static void counts_row_by_row_tell_of_water_after_a_rest(void **state) {
    const hidden_shot one = {"puck", held, counts, weight};
    feed got = segmented(&one);
    assert_close(edge(&got, "preinfusion", "from"), 2, 0.3);
    assert_true(edge(&got, "preinfusion", "from.low") <= 2);
    assert_true(edge(&got, "preinfusion", "from.high") >= 2);
    feed_free(&got);
}

/* A row a second with the mean of the second before it, as some loggers write: all that it shows
 * may have happened in that second.  Of 40 intervals for 95 % two may miss. */
static void a_slow_row_may_be_the_mean_since_the_one_before(void **state) {
    enum { LOGS = 20, LOOKS = 100 };
    int holds = 0;
    shot_random random = shot_random_at(18, 1);
    for (int k = 0; k < LOGS; k++) {
        const double late = (double)k / LOGS;
        shot_text text = {0};
        shot_text_add(&text, "# gauge: puck\ntime [s],pressure [bar]\n");
        for (int row = 1; row < 45; row++) {
            double sum = 0;
            for (int i = 0; i < LOOKS; i++)
                sum += held(row - late - (double)i / LOOKS);
            shot_text_add_format(&text, "%d,%.2f\n", row,
                                 sum / LOOKS + 0.01 * shot_random_normal(&random));
        }
        feed got = feed_log("segment", &text);
        const double gone = off + late + 0.1 * log(18);
        holds += edge(&got, "brew", "to.low") <= off + late &&
                 off + late <= edge(&got, "brew", "to.high");
        holds +=
            edge(&got, "release", "to.low") <= gone && gone <= edge(&got, "release", "to.high");
        assert_true(edge(&got, "brew", "to.high") - edge(&got, "brew", "to.low") < 3);
        feed_free(&got);
    }
    print_message("%d of %d\n", holds, 2 * LOGS);
    assert_true(holds >= 2 * LOGS - 2);
}

/* ---- a line under the 3 bar of the mains: the valve opens at 2 s, the basket is full at 5 s and
 * held at 2.6 bar from 7 s, the pump comes on at 14 s and gives 9 bar before the restrictor ---- */

static double fed_puck(double t) {
    const double wet = 2.6 * fmin(1, fmax(0, (t - 5) / 2));
    return wet + 5.7 * fmin(1, fmax(0, t - 14));
}

static double fed_pump(double t) {
    return t > 14 && t < off ? 9 : 3;
}

static double fed_flow(double t) {
    return t < 2 || t > off ? 0 : sqrt(fmax(0, fed_pump(t) - fed_puck(t)) / 0.12);
}

static double late_fed_flow(double t) {
    return t < off ? fed_flow(t) : t < off + 0.4 ? fed_flow(off - 0.1) : 0;
}

/* Pressure that stands before the water does not show a meter that lags, and the brew ends where
 * the gauge falls back to what the mains give. */
static void a_line_under_pressure_shows_no_lag(void **state) {
    const hidden_shot shots[] = {{"pump", fed_pump, fed_flow, NULL},
                                 {"pump", fed_pump, late_fed_flow, NULL}};
    for (size_t i = 0; i < sizeof shots / sizeof *shots; i++) {
        feed got = segmented(&shots[i]);
        assert_close(edge(&got, "fill", "to"), 6, 0.3);
        assert_close(edge(&got, "soak", "to"), 14, 0.2);
        assert_close(edge(&got, "brew", "from"), 14.93, 0.2);
        assert_close(edge(&got, "brew", "to"), off, 0.45);
        feed_free(&got);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_brew_ends_where_the_gauge_is_shut_in),
        cmocka_unit_test(a_pump_that_holds_its_pressure_has_not_stopped),
        cmocka_unit_test(a_puck_may_let_go_before_its_gauge),
        cmocka_unit_test(a_puck_that_is_let_go_of_before_a_drop_fell_is_no_shot),
        cmocka_unit_test(pulses_under_no_pressure_may_have_ended_the_fill),
        cmocka_unit_test(a_basket_fills_unseen_behind_a_gauge_at_the_pump),
        cmocka_unit_test(counts_row_by_row_tell_of_water_after_a_rest),
        cmocka_unit_test(a_slow_row_may_be_the_mean_since_the_one_before),
        cmocka_unit_test(a_line_under_pressure_shows_no_lag),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
