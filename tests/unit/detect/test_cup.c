/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a scale that is tared, and a cup that is put on it or lifted off, is no stream and
 * hides none. */
#include <support/feed.h>

#include <support/mark_text.h>

#include <math.h>

#include <shottrace/signal/random.h>

/* What a person does to the scale at some time. */
typedef struct handling {
    double put_on, tared, lifted; /* s; INFINITY: never.  The cup has 180 g */
    double knocked;               /* rings for half a second */
} handling;

static const double stream = 10, stops = 30; /* s; 2 g/s */

/* What lies on the scale. */
static double weight_at(const handling *hand, double t) {
    const double gained = 2 * (fmin(fmax(t, stream), stops) - stream);
    const double lies = gained + (t >= hand->put_on ? 180 : 0) - (t >= hand->lifted ? 180 : 0);
    const double since = t - hand->knocked;
    return since > 0 ? lies + 8 * exp(-since / 0.15) * cos(25 * since) : lies;
}

/* What leans on the cup, or lifts it where it is less than nothing. */
typedef struct leaning {
    double grams, seconds, from;
} leaning;

/* The scale follows in 0.2 s, and tares at once. */
static feed log_from(const handling *how, leaning leans, double start, double rate) {
    shot_random random = shot_random_at(4, 0);
    shot_text text = {0};
    double shown = weight_at(how, start), tare = 0;
    shot_text_add(&text, "# scale.lag: 0.2 s\ntime [s],weight [g]\n");
    for (double t = start; t < 40; t += 1 / rate) {
        const double pressed = t >= leans.from && t < leans.from + leans.seconds ? leans.grams : 0;
        shown += (weight_at(how, t) + pressed - shown) * (1 - exp(-1 / rate / 0.2));
        tare = t - 1 / rate < how->tared && t >= how->tared ? shown : tare;
        shot_text_add_format(&text, "%.3f,%.1f\n", t,
                             shown - tare + 0.05 * shot_random_normal(&random));
    }
    return feed_log("segment", &text);
}

static feed log_of(const handling *how, double rate) {
    return log_from(how, (leaning){0, 0, 0}, 0, rate);
}

/* The last word on the first drop, or NULL. */
static const char *drip_of(const feed *got) {
    return last_line(got->out.bytes, "first-drip");
}

/* Two samples, or the 0.2 s that the scale itself takes. */
static void expect_drip(const handling *hand) {
    static const double rates[] = {5, 10, 100};
    for (size_t i = 0; i < sizeof rates / sizeof *rates; i++) {
        feed got = log_of(hand, rates[i]);
        const char *line = drip_of(&got);
        if (line == NULL)
            fail_msg("no first drip in\n%s", got.out.bytes);
        assert_close(mark_number(line, "from"), stream, fmax(0.2, 2 / rates[i]));
        feed_free(&got);
    }
}

static void a_cup_on_a_tared_scale_is_no_stream(void **state) {
    expect_drip(&(handling){-INFINITY, 4, INFINITY, INFINITY}); /* it stood there before */
    expect_drip(&(handling){2, 6, INFINITY, INFINITY});
    expect_drip(&(handling){0.3, 0.8, INFINITY, INFINITY}); /* the scale tares by itself */
    expect_drip(&(handling){3, 3.5, INFINITY, INFINITY});
    expect_drip(&(handling){2, INFINITY, INFINITY, INFINITY}); /* and nobody tares */
}

static void what_is_done_later_changes_nothing(void **state) {
    expect_drip(&(handling){-INFINITY, 20, INFINITY, INFINITY});
    expect_drip(&(handling){-INFINITY, INFINITY, 33, INFINITY});
}

static void a_knock_is_no_lift(void **state) {
    expect_drip(&(handling){-INFINITY, INFINITY, INFINITY, 6});
    expect_drip(&(handling){-INFINITY, INFINITY, INFINITY, 15});
}

/* However light it is and however long it stays: a cup only gains. */
static void a_hand_that_leans_on_the_cup_is_no_stream(void **state) {
    static const leaning hands[] = {{4, 1, 3}, {2, 2.5, 3}, {1.5, 4, 3}};
    static const handling nothing = {-INFINITY, INFINITY, INFINITY, INFINITY};
    for (size_t i = 0; i < sizeof hands / sizeof *hands; i++) {
        feed got = log_from(&nothing, hands[i], 0, 10);
        assert_close(mark_number(drip_of(&got), "from"), stream, 0.2);
        feed_free(&got);
    }
}

/* Neither the level before the stream nor its start has a part of what goes away again. */
static void what_goes_away_is_no_beverage(void **state) {
    static const leaning knocks[] = {
        {-20, 0.3, 0.5}, {-20, 0.3, 7}, {-20, 0.3, 9}, {16, 0.3, 9.3}, {16, 0.3, 9.8}};
    static const handling nothing = {-INFINITY, INFINITY, INFINITY, INFINITY};
    for (size_t i = 0; i < sizeof knocks / sizeof *knocks; i++) {
        feed got = log_from(&nothing, knocks[i], 0, 10);
        const char *line = drip_of(&got);
        assert_close(mark_number(line, "from"), stream, 0.3);
        assert_true(mark_number(line, "from.low") <= stream);
        assert_true(mark_number(line, "from.high") >= stream);
        feed_free(&got);
    }
}

/* A scale that starts late: nobody knows when the first drop fell. */
static void a_log_that_starts_in_the_stream_has_no_first_drop(void **state) {
    static const handling nothing = {-INFINITY, INFINITY, INFINITY, INFINITY};
    feed got = log_from(&nothing, (leaning){0, 0, 0}, 15, 10);
    assert_int_equal(mark_count(got.out.bytes, "first-drip"), 0);
    assert_non_null(
        strstr(got.out.bytes, "no first drip: the weight starts when drops fell already"));
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_cup_on_a_tared_scale_is_no_stream),
        cmocka_unit_test(what_is_done_later_changes_nothing),
        cmocka_unit_test(a_knock_is_no_lift),
        cmocka_unit_test(a_hand_that_leans_on_the_cup_is_no_stream),
        cmocka_unit_test(what_goes_away_is_no_beverage),
        cmocka_unit_test(a_log_that_starts_in_the_stream_has_no_first_drop),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
