/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the phases of the textbook shot stand where its formula puts them, and each missing
 * channel takes away only what it alone could tell, with the reason in words.  What can be told
 * while the shot runs is told in time, and live and from a file come the same bytes. */
#include <support/feed.h>

#include <support/mark_text.h>
#include <support/text_count.h>

#include <stdio.h>
#include <stdlib.h>

#include <shottrace/signal/flicker.h>
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

static feed segment(int channels, const char *metadata) {
    shot_text text = textbook(channels, metadata);
    return feed_log("segment", &text);
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

/* A number of the last word on the first drop. */
static double last_number(const feed *got, const char *key) {
    return mark_number(last_line(got->out.bytes, "first-drip"), key);
}

/* Where it is not known, it may be 0 to 0.8 s: the middle is taken, in an interval of both. */
static void the_scale_lag_is_taken_off(void **state) {
    feed known = segment(WEIGHT, "# scale.lag: 400 ms\n"), without = segment(WEIGHT, "");
    feed more = segment(WEIGHT, "# scale.lag: 500 ms\n");
    const double from = last_number(&known, "from");
    assert_close(from - last_number(&more, "from"), 0.1, 1e-9);
    assert_close(from, last_number(&without, "from"), 1e-9);
    assert_close(last_number(&known, "from.low") - last_number(&without, "from.low"), 0.4, 1e-9);
    assert_close(last_number(&without, "from.high") - last_number(&known, "from.high"), 0.4, 1e-9);
    assert_non_null(strstr(without.out.bytes,
                           "note=\"scale lag not known: taken as 0.4 s, may be 0 to 0.8 s\""));
    feed_free(&known);
    feed_free(&more);
    feed_free(&without);
}

/* A lag that is known moves what crosses a level, and the interval allows for no other. */
static void the_gauge_lag_is_taken_off(void **state) {
    feed without = segment(PRESSURE, ""), with = segment(PRESSURE, "# gauge.lag: 10 ms\n");
    double from, to, later_from, later_to;
    assert_true(mark_of(without.out.bytes, "release", &later_from, &later_to));
    assert_true(mark_of(with.out.bytes, "release", &from, &to));
    assert_close(later_from, from, 1e-9);
    assert_close(later_to - to, 0.01, 1e-9);
    const char *known = last_line(with.out.bytes, "brew");
    const char *not_known = last_line(without.out.bytes, "brew");
    assert_close(mark_number(not_known, "from") - mark_number(known, "from"), 0.01, 1e-9);
    assert_true(mark_number(known, "from.high") - mark_number(known, "from.low") <
                mark_number(not_known, "from.high") - mark_number(not_known, "from.low") - 0.01);
    feed_free(&with);
    feed_free(&without);
}

/* Pressure alone: where the gauge sits decides what its full pressure is worth, and only the log
 * can say it. */
static void a_gauge_that_may_sit_anywhere_is_named(void **state) {
    static const char nobody[] = "nothing says where the gauge sits";
    feed alone = segment(PRESSURE, ""), told = segment(PRESSURE, "# gauge: puck\n"),
         flow = segment(PRESSURE | FLOW, "");
    assert_non_null(strstr(alone.out.bytes, nobody));
    assert_null(strstr(told.out.bytes, nobody));
    assert_null(strstr(flow.out.bytes, nobody));
    feed_free(&alone);
    feed_free(&told);
    feed_free(&flow);
}

/* A gauge at the pump: only a log without flow leaves open when the puck had its pressure. */
static void a_gauge_at_the_pump_is_doubted_only_without_flow(void **state) {
    static const char pump[] = "# gauge: pump\n", doubt[] = "there is no flow: the puck may have";
    feed alone = segment(PRESSURE, pump), flow = segment(PRESSURE | FLOW, pump);
    assert_non_null(strstr(alone.out.bytes, doubt));
    assert_null(strstr(flow.out.bytes, doubt));
    assert_non_null(strstr(flow.out.bytes, "the flow shows no restrictor behind it"));
    feed_free(&alone);
    feed_free(&flow);
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

/* ---- live ---- */

/* A shot at 10 Hz in a typical logger's noise (docs/model.md): water from 2.05 s on, up to 9 bar
 * with a time constant of 0.8 s from 5.05 s on, pump off at 30 s.  95 % of a plateau that is
 * exceeded by 3 % at most: ln(1 / (1 - 0.95 * 0.97)) * 0.8 s after the rise began, that is 7.10 s.
 */
static const double water = 2.05, rise = 5.05, full = 7.10, off = 30;

static shot_text live_shot(uint64_t seed, bool fake) {
    shot_text text = {0};
    shot_random random = shot_random_at(seed, 0);
    shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
    for (int i = 0; i <= 330; i++) {
        double t = 0.1 * i, up = t > rise ? 9 * (1 - exp(-(t - rise) / 0.8)) : 0;
        double pressure = t > off ? 9 * exp(-(t - off) / 0.3) : up;
        double flow = t > off || t < water ? 0 : t < rise + 0.5 ? 6 : 2;
        if (fake) { /* a short flush and nothing more */
            pressure = 0;
            flow = t > water && t < water + 1 ? 3 : 0;
        }
        double p = pressure + 0.04 * shot_random_normal(&random);
        double q = flow + 0.07 * shot_random_normal(&random);
        shot_text_add_format(&text, "%.1f,%.2f,%.2f\n", t, p, q);
    }
    return text;
}

/* What comes out when each line of the input is pushed by itself and the input then waits; at[k]
 * gets the time of the row after which the first mark that starts with text k was there. */
static feed line_by_line(const shot_text *text, const char *const *marks, double *at, size_t n) {
    feed result = {0};
    shot_chain_ends ends = {.output = {feed_write_, &result}, .notice = {feed_say_, &result}};
    shot_chain *chain = NULL;
    shot_text_add(&result.out, "");
    shot_text_add(&result.notices, "");
    assert_int_equal(shot_chain_new("segment", &ends, &chain, &result.error), SHOT_OK);
    for (size_t k = 0; k < n; k++)
        at[k] = NAN;
    for (const char *line = text->bytes; *line != '\0';) {
        size_t length = (size_t)(strchr(line, '\n') + 1 - line);
        assert_int_equal(shot_chain_push(chain, line, length, &result.error), SHOT_OK);
        assert_int_equal(shot_chain_pause(chain, &result.error), SHOT_OK);
        for (size_t k = 0; k < n; k++)
            if (isnan(at[k]) && strstr(result.out.bytes, marks[k]) != NULL)
                at[k] = strtod(line, NULL);
        line += length;
    }
    result.status = shot_chain_finish(chain, &result.error);
    shot_chain_free(chain);
    return result;
}

/* The delays that docs/segment.md states, on ten shots. */
static void water_and_full_pressure_are_told_in_time(void **state) {
    static const char *const marks[] = {"# mark: preinfusion id=preinfusion-1 from=",
                                        "# mark: brew id=brew-1 from="};
    for (uint64_t seed = 1; seed <= 10; seed++) {
        shot_text text = live_shot(seed, false);
        double at[2];
        feed live = line_by_line(&text, marks, at, 2);
        feed whole = feed_chain("segment", text.bytes, text.length, 0);
        assert_true(at[0] >= water && at[0] <= water + 0.5);
        assert_true(at[1] >= full && at[1] <= full + 1.0);
        assert_string_equal(live.out.bytes, whole.out.bytes);
        assert_non_null(strstr(live.out.bytes, "# mark: preinfusion id=p1 "));
        feed_free(&live);
        feed_free(&whole);
        shot_text_free(&text);
    }
}

/* A plateau needs pressure: after a flush water is told, and no brew. */
static void a_flush_is_no_brew(void **state) {
    shot_text text = live_shot(1, true);
    feed got = feed_chain("segment", text.bytes, text.length, 7);
    assert_int_equal(got.status, SHOT_OK);
    assert_non_null(strstr(got.out.bytes, "# mark: preinfusion id=preinfusion-1 from=2.0"));
    assert_null(strstr(got.out.bytes, "# mark: brew"));
    feed_free(&got);
    shot_text_free(&text);
}

/* At rest for 10 s but for rows of water from 5 s on: `rows` of them in the flow, one in the
 * pressure if `both`; once more from 8 s on. */
static shot_text some_rows_of_water(double rate, int rows, bool both) {
    shot_text text = {0};
    const int first = (int)(5 * rate), second = (int)(8 * rate);
    shot_text_add(&text, "time,pressure,flow\n");
    for (int i = 0; i < 10 * rate; i++) {
        const bool wet = (i >= first && i < first + rows) || i == second;
        shot_text_add_format(&text, "%.2f,%.2f,%.2f\n", i / rate,
                             both && i == first ? 2 : 0.05 * (i % 2), wet ? 4 : 0.1 * (i % 2));
    }
    return text;
}

static void expect_water(double rate, int rows, bool both, size_t told, size_t taken_back) {
    shot_text text = some_rows_of_water(rate, rows, both);
    feed got = feed_chain("segment", text.bytes, text.length, 0);
    assert_int_equal(got.status, SHOT_OK);
    assert_int_equal(count_of(got.out.bytes, " id=preinfusion-"), told);
    assert_int_equal(count_of(got.out.bytes, "withdrawn: it was a spike"), taken_back);
    feed_free(&got);
    shot_text_free(&text);
}

/* A row that bears water in both channels tells of it; one that bears it in the flow alone may be a
 * spike, so that a second is waited for. */
static void one_row_of_both_channels_is_enough(void **state) {
    expect_water(10, 1, true, 1, 0);
    expect_water(10, 1, false, 0, 0);
    expect_water(10, 3, false, 1, 0);
}

/* Where the second row would come too late the first is told of, and taken back by the second; what
 * has spiked once is waited for. */
static void a_slow_log_tells_of_water_in_one_row(void **state) {
    expect_water(4, 1, false, 1, 1);
    expect_water(4, 3, false, 1, 0);
    shot_text text = some_rows_of_water(4, 3, false);
    feed got = feed_chain("segment", text.bytes, text.length, 0);
    assert_close(row_before(got.out.bytes, strstr(got.out.bytes, "id=preinfusion-1 ")), 5, 1e-9);
    feed_free(&got);
    shot_text_free(&text);
}

/* A gauge may tell of water while one row of a meter that has news less often stands for it: when
 * that was a spike the gauge is heard. */
static void a_spike_of_a_slow_meter_does_not_deafen(void **state) {
    shot_text text = {0};
    shot_text_add(&text, "time,pressure,flow\n");
    for (int i = 0; i < 80; i++) {
        shot_text_add_format(&text, "%.1f,%.2f,", 0.1 * i, fmax(0.05 * (i % 2), 0.2 * (i - 50)));
        if (i % 5 == 0)
            shot_text_add_format(&text, "%.2f", i == 50 ? 4 : 0.1 * (i % 2));
        shot_text_add(&text, "\n");
    }
    feed got = feed_log("segment", &text);
    assert_non_null(strstr(got.out.bytes, "withdrawn: it was a spike"));
    const char *line = strstr(got.out.bytes, "id=preinfusion-2 ");
    assert_non_null(line);
    assert_close(mark_number(line, "from"), 5.1, 0.2);
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(water_and_full_pressure_are_told_in_time),
        cmocka_unit_test(a_flush_is_no_brew),
        cmocka_unit_test(one_row_of_both_channels_is_enough),
        cmocka_unit_test(a_slow_log_tells_of_water_in_one_row),
        cmocka_unit_test(a_spike_of_a_slow_meter_does_not_deafen),
        cmocka_unit_test(phases_of_the_textbook_shot),
        cmocka_unit_test(the_scale_lag_is_taken_off),
        cmocka_unit_test(the_gauge_lag_is_taken_off),
        cmocka_unit_test(a_gauge_that_may_sit_anywhere_is_named),
        cmocka_unit_test(a_gauge_at_the_pump_is_doubted_only_without_flow),
        cmocka_unit_test(missing_channels_take_only_what_they_tell),
        cmocka_unit_test(odd_logs_are_answered),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
