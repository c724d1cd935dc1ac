/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a log of few figures, as of a gauge that a person reads by hand, is no noise: it has
 * its phases, in their order and as well placed as its figures lie close; a flow that is the
 * beverage's tells of drops and not of water; a channel that is written only where it changed
 * stands in between. */
#include <support/feed.h>

#include <support/mark_text.h>

#include <math.h>

#include <shottrace/signal/random.h>

/* Full at 4 s, held at 3 bar until 12 s, up to 9 bar at 14 s, then down to 5 bar at 40 s as a
 * spring lets go; off at 40 s. */
static double pressure_of(double t) {
    if (t < 3 || t > 41)
        return 0;
    if (t < 12)
        return fmin(3, 3 * (t - 3));
    if (t < 14)
        return 3 + 3 * (t - 12);
    return t < 40 ? 9 - 4 * (t - 14) / 26 : 5 * (41 - t);
}

static double flow_of(double t) {
    return t < 1 || t > 40 ? 0 : t < 4 ? 6 : t < 12 ? 1 : 2;
}

/* A figure every so many seconds, to half a bar and half a millilitre a second. */
static feed read_by_hand(double every, double first, bool meter) {
    shot_text text = {0};
    shot_text_add_format(&text, "time [s],pressure [bar]%s\n", meter ? ",flow [ml/s]" : "");
    for (double t = first; t < 50; t += every) {
        shot_text_add_format(&text, "%.1f,%.1f", t, round(2 * pressure_of(t)) / 2);
        if (meter)
            shot_text_add_format(&text, ",%.1f", round(2 * flow_of(t)) / 2);
        shot_text_add(&text, "\n");
    }
    return feed_log("segment", &text);
}

static bool expect_end(const feed *got, const char *kind, double end, double tolerance) {
    const char *text = got->out.bytes; /* the last mark is the one that stands */
    const char *line = last_line(text, kind);
    if (line == NULL)
        fail_msg("no %s in\n%s", kind, text);
    double from = mark_number(line, "from"), to = mark_number(line, "to");
    if (!(from <= to && fabs(to - end) <= tolerance))
        fail_msg("%s\n%s", kind, text);
    return mark_number(line, "to.low") <= end && end <= mark_number(line, "to.high");
}

/* 95 % of the plateau, 9 bar, are reached at 13.85 s; 0.5 bar are left at 40.9 s.  An edge lies
 * anywhere between two figures, and a break in the slope up to one more away; of 60 intervals for
 * 95 % three may miss. */
static void a_gauge_read_by_hand_tells_the_phases(void **state) {
    int held = 0;
    for (int every = 1; every <= 5; every++)
        for (int k = 0; k < 4; k++) {
            feed got = read_by_hand(every, 0.3 * k, k % 2 == 1);
            held += expect_end(&got, "preinfusion", 13.85, 1.5 * every);
            held += expect_end(&got, "brew", 40, 1.5 * every);
            held += expect_end(&got, "release", 40.9, every);
            feed_free(&got);
        }
    assert_true(held >= 57);
}

/* A machine that works its flow out from the scale, from drops at 15 s on: water came before the
 * pressure, which shows at 3 s, and the flow tells of the first drop. */
static void a_flow_of_the_beverage_tells_of_drops(void **state) {
    shot_text text = {0};
    shot_text_add(&text, "time [s],pressure [bar],flow [ml/s]\n");
    for (double t = 0; t < 50; t += 0.1) {
        const double flow = t < 15 || t > 41 ? 0 : 2 * (1 - exp((15 - t) / 0.8));
        shot_text_add_format(&text, "%.1f,%.2f,%.2f\n", t, pressure_of(t), flow);
    }
    feed got = feed_log("segment", &text);
    const char *water = last_line(got.out.bytes, "preinfusion");
    const char *drop = last_line(got.out.bytes, "first-drip");
    assert_non_null(water);
    assert_non_null(drop);
    assert_close(mark_number(water, "from"), 3, 0.2);
    assert_true(mark_number(drop, "from.low") < 15 && mark_number(drop, "from.high") > 15);
    assert_close(mark_number(drop, "from"), 15, 0.5);
    assert_non_null(strstr(got.out.bytes, "taken for the beverage's"));
    feed_free(&got);
}

/* A gauge whose scale ends at `most`, and pressure that comes up to 9.4 bar from 2 s on. */
static feed clipped(double most, double until) {
    shot_random random = shot_random_at(12, 0);
    shot_text text = {0};
    shot_text_add(&text, "# gauge: puck\ntime,pressure\n");
    for (int i = 0; i < 10 * until; i++) {
        const double t = i / 10.0, up = 9.4 * (1 - exp(-(t - 2) / 0.7));
        const double bar = t < 2 ? 0 : t < 28 ? up : 9.4 * exp(-(t - 28) / 0.5);
        shot_text_add_format(&text, "%.1f,%.2f\n", t,
                             fmin(most, bar + 0.03 * shot_random_normal(&random)));
    }
    return feed_log("clean | segment", &text);
}

static void a_clipped_gauge_shows_full_pressure_early(void **state) {
    const double reached = 2 + 0.7 * log(20);
    feed got = clipped(8, 35);
    assert_true(mark_number(last_line(got.out.bytes, "brew"), "from.low") < reached);
    assert_true(mark_number(last_line(got.out.bytes, "brew"), "from.high") > reached);
    assert_non_null(strstr(got.out.bytes, "stood at the end of its scale"));
    feed_free(&got);
    got = clipped(16, 35);
    assert_true(mark_number(last_line(got.out.bytes, "brew"), "from.high") < reached + 0.5);
    assert_null(strstr(got.out.bytes, "stood at the end of its scale"));
    feed_free(&got);
}

static void a_release_without_end_says_why(void **state) {
    feed got = clipped(16, 28.8);
    assert_true(isnan(mark_number(last_line(got.out.bytes, "release"), "to")));
    assert_non_null(strstr(got.out.bytes, "no end of the release: the log ends"));
    feed_free(&got);
}

/* A firmware that takes a fifth of each row and four of what it showed is 0.45 s late, and colours
 * the noise of the gauge; one that hands on each row leaves it white. */
static feed filtered(double fresh) {
    shot_random random = shot_random_at(13, 0);
    shot_text text = {0};
    double shown = 0;
    shot_text_add(&text, "# gauge: puck\ntime,pressure\n");
    for (int i = 0; i < 360; i++) {
        const double t = i / 10.0, up = t < 2 ? 0 : fmin(9, 4 * (t - 2));
        const double bar = t < 28 ? up : 9 * exp(-(t - 28) / 0.4);
        shown += fresh * (bar + 0.05 * shot_random_normal(&random) - shown);
        shot_text_add_format(&text, "%.1f,%.3f\n", t, shown);
    }
    return feed_log("segment", &text);
}

static void a_filter_shows_in_the_noise_how_late_it_is(void **state) {
    const double reached = 2 + 0.95 * 9 / 4;
    for (int plain = 0; plain < 2; plain++) {
        feed got = filtered(plain ? 1 : 0.2);
        const char *line = last_line(got.out.bytes, "brew");
        const double low = mark_number(line, "from.low"), high = mark_number(line, "from.high");
        assert_true(low < reached && reached < high);
        assert_true(plain ? high - low < 0.4 : high - low > 0.4);
        feed_free(&got);
    }
}

/* A row only where a figure changed, each channel by itself.  The pressure `declines` by so many
 * bar/s, the cup gains so many g in a second; the shot comes `times`, every 43 s. */
static feed on_change(double declines, double stream, int times) {
    shot_text text = {0};
    double bar = -1, grams = -1;
    shot_text_add(&text, "# gauge: puck\ntime,pressure,weight\n");
    for (int i = 0; i < 350 + 430 * (times - 1); i++) {
        const double all = i / 10.0, t = fmod(all, 43), up = fmin(6, 3 * fmax(0, t - 2));
        const double last = 6 - 12 * declines, bed = up - declines * fmax(0, fmin(t, 16) - 4);
        const double now = round(10 * (t < 28 ? bed : last * exp(-(t - 28) / 0.4))) / 10;
        const double gained = stream * fmin(20, fmax(0, t - 8)), before = floor(all / 43);
        const double cup = round(10 * (gained + 20 * stream * before)) / 10;
        if (now != bar)
            shot_text_add_format(&text, "%.1f,%.1f,\n", all, now);
        if (cup != grams)
            shot_text_add_format(&text, "%.2f,,%.1f\n", all + 0.05, cup);
        bar = now;
        grams = cup;
    }
    return feed_log("segment", &text);
}

/* The brew ends at 28 s, after seconds without a row of the pressure. */
static void a_log_on_change_is_carried_on(void **state) {
    feed got = on_change(0.2, 2, 1);
    assert_close(mark_number(last_line(got.out.bytes, "brew"), "to"), 28, 0.2);
    assert_non_null(strstr(got.out.bytes, "as if written only where it changed"));
    feed_free(&got);
}

/* A pressure that stands has too few figures to show by itself how it was written; the scale's show
 * it.  What comes 43 s later is another shot. */
static void a_channel_beside_one_on_change_is_carried_on_too(void **state) {
    feed got = on_change(0, 1, 2);
    assert_close(mark_number(last_line(got.out.bytes, "brew"), "from"), 3.9, 0.2);
    assert_close(mark_number(last_line(got.out.bytes, "brew"), "to"), 28, 0.2);
    assert_non_null(strstr(got.out.bytes, "more than one shot"));
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_gauge_read_by_hand_tells_the_phases),
        cmocka_unit_test(a_flow_of_the_beverage_tells_of_drops),
        cmocka_unit_test(a_clipped_gauge_shows_full_pressure_early),
        cmocka_unit_test(a_release_without_end_says_why),
        cmocka_unit_test(a_filter_shows_in_the_noise_how_late_it_is),
        cmocka_unit_test(a_log_on_change_is_carried_on),
        cmocka_unit_test(a_channel_beside_one_on_change_is_carried_on_too),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
