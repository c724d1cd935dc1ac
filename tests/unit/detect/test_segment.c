/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the phases of the textbook shot stand where its formula puts them, and each missing
 * channel takes away only what it alone could tell, with the reason in words. */
#include <support/feed.h>

#include <stdio.h>
#include <stdlib.h>

#include <support/analytic_shot.h>

enum { PRESSURE = 1, FLOW = 2, WEIGHT = 4 };

static void add_cell(shot_text *text, double value, double per_unit) {
    shot_text_add(text, ",");
    shot_text_add_number(text, floor(value * per_unit + 0.5) / per_unit);
}

/* The textbook shot with the channels asked for; metadata in front. */
static shot_text textbook(int channels, const char *metadata) {
    analytic_shot *shot;
    shot_text text = {0};
    assert_int_equal(analytic_shot_textbook(10, 0.01, 1, &shot), SHOT_OK);
    shot_text_add(&text, metadata);
    shot_text_add_format(&text, "time%s%s%s\n", channels & PRESSURE ? ",pressure" : "",
                         channels & FLOW ? ",flow" : "", channels & WEIGHT ? ",weight" : "");
    for (size_t i = 0; i < shot->rows; i++) {
        double t = shot->time[i];
        shot_text_add_number(&text, t);
        if (channels & PRESSURE)
            add_cell(&text, shot->pressure[i], 1000);
        if (channels & FLOW) /* water from the first moment on, until the pump stops */
            add_cell(&text, t < 0.5 || t > 27 ? 0 : 3, 1000);
        if (channels & WEIGHT)
            add_cell(&text, shot->weight[i], 1000);
        shot_text_add(&text, "\n");
    }
    analytic_shot_free(shot);
    return text;
}

/* `from` and `to` of the mark of that kind in the trace; false if there is none. */
static bool mark_of(const char *trace, const char *kind, double *from, double *to) {
    char start[64];
    snprintf(start, sizeof start, "# mark: %s ", kind);
    const char *place = strstr(trace, start);
    if (place == NULL)
        return false;
    const char *end = strchr(place, '\n'), *open = strstr(place, " from="),
               *shut = strstr(place, " to=");
    *from = open != NULL && open < end ? strtod(open + 6, NULL) : NAN;
    *to = shut != NULL && shut < end ? strtod(shut + 4, NULL) : NAN;
    return true;
}

static feed segment(int channels, const char *metadata) {
    shot_text text = textbook(channels, metadata);
    feed got = feed_chain("segment", text.bytes, text.length, 0);
    assert_int_equal(got.status, SHOT_OK);
    shot_text_free(&text);
    return got;
}

/* Pressure: a ramp of 8.7 bar in 6.5 s, 9 bar from 7 s on. 95 % of the first plateau are passed at
 * 0.95 * 9 / 8.7 * 6.5 = 6.39 s, a plateau that may be taken 3 % low; 0.5 bar at 0.37 s. */
static void phases_of_the_textbook_shot(void **state) {
    feed got = segment(PRESSURE | FLOW | WEIGHT, "");
    double from, to;
    assert_true(mark_of(got.out.bytes, "preinfusion", &from, &to));
    assert_close(from, 0.5, 0.1); /* a sampling interval */
    assert_close(to, 6.39, 0.25);
    assert_true(mark_of(got.out.bytes, "brew", &from, &to));
    assert_close(from, 6.39, 0.25);
    assert_close(to, 27, 0.05);
    assert_true(mark_of(got.out.bytes, "release", &from, &to));
    assert_close(from, 27, 0.05);
    assert_close(to, 27 + 8.5 / 9, 0.05);
    assert_true(mark_of(got.out.bytes, "first-drip", &from, &to));
    assert_close(from, 7, 0.35); /* the flow of the cup starts with slope 0 */
    assert_false(mark_of(got.out.bytes, "soak", &from, &to));
    feed_free(&got);
}

static void the_scale_lag_is_taken_off(void **state) {
    feed without = segment(WEIGHT, ""), with = segment(WEIGHT, "# scale.lag: 400 ms\n");
    double from, later, to;
    assert_true(mark_of(without.out.bytes, "first-drip", &later, &to));
    assert_true(mark_of(with.out.bytes, "first-drip", &from, &to));
    assert_close(later - from, 0.4, 1e-9);
    assert_non_null(strstr(without.out.bytes, "note=\"scale lag not known: taken as 0 s, may be 0.8 s\""));
    feed_free(&with);
    feed_free(&without);
}

static void missing_channels_take_only_what_they_tell(void **state) {
    double from, to;
    feed got = segment(WEIGHT, "");
    assert_true(mark_of(got.out.bytes, "first-drip", &from, &to));
    assert_false(mark_of(got.out.bytes, "brew", &from, &to));
    assert_non_null(strstr(
        got.out.bytes, "# note: shot-segment: no phases: there is no pressure to tell them by\n"));
    feed_free(&got);
    got = segment(PRESSURE, "");
    assert_true(mark_of(got.out.bytes, "brew", &from, &to));
    assert_close(to, 27, 0.05);
    assert_non_null(strstr(got.out.bytes, "no flow: water entered the basket up to some seconds "
                                          "before pressure shows it"));
    assert_non_null(strstr(got.out.bytes, "no first drip: there is no weight or outflow"));
    feed_free(&got);
}

static void odd_logs_are_answered(void **state) {
    const char *logs[] = {
        "time\n",
        "time,pressure\n0,9\n",
        "time,pressure\n0,9\n1,9\n2,9\n3,9\n4,9\n5,9\n6,9\n",
        "time,pressure,flow,weight\n0,,,\n1,,,\n2,,,\n3,,,\n4,,,\n5,,,\n",
        "time,pressure\n0,0\n1,0\n2,5\n3,9\n4,9\n5,9\n6,9\n7,9\n8,9\n",
    };
    for (size_t i = 0; i < sizeof logs / sizeof *logs; i++) {
        feed got = feed_chain("segment", logs[i], strlen(logs[i]), 0);
        assert_int_equal(got.status, SHOT_OK);
        assert_non_null(strstr(got.out.bytes, "# note: shot-segment: "));
        assert_non_null(strstr(got.out.bytes, "# close: shots=1\n"));
        feed_free(&got);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(phases_of_the_textbook_shot),
        cmocka_unit_test(the_scale_lag_is_taken_off),
        cmocka_unit_test(missing_channels_take_only_what_they_tell),
        cmocka_unit_test(odd_logs_are_answered),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
