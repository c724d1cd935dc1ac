/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the phases of the textbook shot stand where its formula puts them, and each missing
 * channel takes away only what it alone could tell, with the reason in words.  What can be told
 * while the shot runs is told in time, and live and from a file come the same bytes. */
#include <support/feed.h>

#include <support/mark_text.h>

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

/* `from` and `to` of the final mark of that kind in the trace; false if there is none. */
static bool mark_of(const char *trace, const char *kind, double *from, double *to) {
    char start[64];
    snprintf(start, sizeof start, "# mark: %s ", kind);
    const char *place = strstr(trace, start), *later;
    if (place == NULL)
        return false;
    while ((later = strstr(place + 1, start)) != NULL)
        place = later;
    snprintf(start, sizeof start, " id=%s-", kind); /* provisional, and withdrawn since */
    if (strncmp(strstr(place, " id="), start, strlen(start)) == 0)
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
    assert_non_null(
        strstr(without.out.bytes, "note=\"scale lag not known: taken as 0 s, may be 0.8 s\""));
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

/* The stated rate is 1 % in ten minutes of noise a channel: 0.24 false starts are to be expected of
 * 60 logs of two minutes and two channels, and more than 2 have a chance of 2e-3.  The noise is
 * that of a harsh logger (docs/model.md); half of the logs have 1/f noise beside it. */
static shot_text noise_log(uint64_t log) {
    static const double rates[] = {2, 10, 50};
    double rate = rates[log % 3], drift = log % 2 ? 0.5 : 0;
    shot_random random = shot_random_at(77, log);
    shot_flicker slow;
    shot_text text = {0};
    shot_flicker_start(&slow, shot_random_at(78, log), 64);
    shot_text_add(&text, "time,pressure,flow\n");
    for (int i = 0; i < 120 * rate; i++) {
        double wander = drift * shot_flicker_step(&slow, 1 / rate);
        double p = 0.1 * (shot_random_normal(&random) + wander);
        double q = 0.2 * (shot_random_normal(&random) - wander);
        shot_text_add_format(&text, "%.3f,%.3f,%.3f\n", i / rate, p, q);
    }
    return text;
}

static void noise_alone_rarely_looks_like_water(void **state) {
    int false_ones = 0;
    for (uint64_t log = 0; log < 60; log++) {
        shot_text text = noise_log(log);
        feed got = feed_chain("segment", text.bytes, text.length, 0);
        false_ones += strstr(got.out.bytes, "id=preinfusion-1 ") != NULL;
        feed_free(&got);
        shot_text_free(&text);
    }
    assert_true(false_ones <= 2);
}

/* ---- logs that lack something ---- */

/* A shot with a held pre-wetting: water at 2 s, 3 bar from 3.5 to 8 s, 9 bar from 9.5 s, off at 30
 * s; drops from 10 s on. */
static double held_pressure(double t) {
    if (t < 2.5 || t > 33)
        return 0;
    if (t < 8)
        return 3 * fmin(1, t - 2.5);
    return t < 30 ? 3 + 6 * fmin(1, (t - 8) / 1.5) : 9 * exp(-(t - 30) / 0.3);
}

static double held_flow(double t) {
    return t < 2 || t > 30 ? 0 : t < 3 ? 6 : t < 8 ? 1 : t < 9.5 ? 4 : 2;
}

static double held_weight(double t) {
    return t < 10 ? 0 : 2 * (fmin(t, 30) - 10);
}

typedef struct odd_log {
    int channels, constant; /* which are logged, and which of these never change */
    double from, to, rate;  /* of the log, s and Hz; times start at 0 */
    double zero, every;     /* bar added; the shot comes again every so many seconds */
} odd_log;

static void odd_cell(shot_text *text, const odd_log *log, int channel, double value, double noise) {
    if (log->channels & channel)
        shot_text_add_format(text, ",%.2f", log->constant & channel ? 2 : value + noise);
}

static feed segment_shape(odd_log log, double (*pressure)(double t)) {
    shot_random random = shot_random_at(9, 0);
    shot_text text = {0};
    shot_text_add_format(
        &text, "# scale.lag: 0 s\ntime%s%s%s\n", log.channels & PRESSURE ? ",pressure" : "",
        log.channels & FLOW ? ",flow" : "", log.channels & WEIGHT ? ",weight" : "");
    for (int i = 0; i <= (log.to - log.from) * log.rate; i++) {
        double t = log.from + i / log.rate, one = log.every > 0 ? fmod(t, log.every) : t;
        shot_text_add_format(&text, "%.3f", i / log.rate);
        odd_cell(&text, &log, PRESSURE, pressure(one) + log.zero,
                 0.03 * shot_random_normal(&random));
        odd_cell(&text, &log, FLOW, held_flow(one), 0.05 * shot_random_normal(&random));
        odd_cell(&text, &log, WEIGHT, held_weight(one), 0.05 * shot_random_normal(&random));
        shot_text_add(&text, "\n");
    }
    feed got = feed_chain("segment", text.bytes, text.length, 0);
    assert_int_equal(got.status, SHOT_OK);
    shot_text_free(&text);
    return got;
}

static feed segment_odd(odd_log log) {
    return segment_shape(log, held_pressure);
}

/* `start` NaN: no mark of that kind; `end` NaN: one without end. */
static void expect(const feed *got, const char *kind, double start, double end, double tolerance) {
    double from, to;
    bool found = mark_of(got->out.bytes, kind, &from, &to);
    assert_int_equal(found, !isnan(start));
    if (!found)
        return;
    assert_close(from, start, tolerance);
    assert_close(to, end, tolerance);
}

static void expect_note(const feed *got, const char *words) {
    if (strstr(got->out.bytes, words) == NULL)
        fail_msg("no note '%s' in\n%s", words, strstr(got->out.bytes, "# note"));
}

enum { ALL = PRESSURE | FLOW | WEIGHT };

/* What each log shows of the same shot: 0.15 s is one and a half sampling intervals. */
static void whatever_is_logged_the_rest_is_told(void **state) {
    static const int channels[] = {ALL, PRESSURE | FLOW, PRESSURE | WEIGHT, PRESSURE};
    for (size_t i = 0; i < sizeof channels / sizeof *channels; i++) {
        feed got = segment_odd((odd_log){channels[i], 0, 0, 35, 10, 0, 0});
        expect(&got, "soak", 3, 8, 0.15);
        expect(&got, "brew", 9.35, 30, 0.15);
        expect(&got, "preinfusion", channels[i] & FLOW ? 2 : 2.5, 9.35, 0.15);
        expect(&got, "first-drip", channels[i] & WEIGHT ? 10 : NAN, 10, 0.15);
        feed_free(&got);
    }
    feed got = segment_odd((odd_log){FLOW | WEIGHT, 0, 0, 35, 10, 0, 0});
    expect(&got, "preinfusion", 2, NAN, 0.15);
    expect(&got, "first-drip", 10, 10, 0.15);
    expect(&got, "brew", NAN, NAN, 0);
    expect(&got, "note", 30, 30, 0.15); /* of the water, and one of the stream */
    expect_note(&got, "no phases: there is no pressure to tell them by");
    feed_free(&got);
    got = segment_odd((odd_log){FLOW, 0, 0, 35, 10, 0, 0});
    expect(&got, "preinfusion", 2, NAN, 0.15);
    expect(&got, "note", 30, 30, 0.15);
    expect_note(&got, "the water stopped: a brew ended by then");
    expect_note(&got, "no first drip: there is no weight or outflow");
    feed_free(&got);
}

/* The end of the stream is all that a scale alone knows of the end of the brew. */
static void a_scale_alone_tells_when_the_stream_stopped(void **state) {
    feed got = segment_odd((odd_log){WEIGHT, 0, 0, 35, 10, 0, 0});
    expect(&got, "first-drip", 10, 10, 0.15);
    expect(&got, "note", 30, 30, 0.15);
    assert_non_null(strstr(got.out.bytes, "the stream into the cup stopped"));
    feed_free(&got);
    got = segment_odd((odd_log){WEIGHT, 0, 0, 25, 10, 0, 0}); /* the log ends in the stream */
    expect(&got, "note", NAN, NAN, 0);
    feed_free(&got);
    got = segment_odd((odd_log){ALL, 0, 0, 35, 10, 0, 0}); /* a gauge knows better */
    expect(&got, "note", NAN, NAN, 0);
    feed_free(&got);
}

static void a_cut_log_says_what_it_cannot_know(void **state) {
    feed got = segment_odd((odd_log){ALL, 0, 5, 35, 10, 0, 0}); /* starts in the soak */
    expect(&got, "fill", NAN, NAN, 0);
    expect(&got, "soak", 0, 3, 0.15);
    expect(&got, "brew", 4.35, 25, 0.15);
    expect_note(&got, "the log starts when water was in already");
    const char *final = strstr(got.out.bytes, "# mark: preinfusion id=p1 ");
    assert_non_null(final);
    assert_true(isnan(mark_number(final, "from.low"))); /* since when, nobody knows */
    feed_free(&got);
    got = segment_odd((odd_log){ALL, 0, 12, 35, 10, 0, 0}); /* starts in the brew */
    expect(&got, "preinfusion", NAN, NAN, 0);
    expect(&got, "first-drip", NAN, NAN, 0);
    expect(&got, "brew", 0, 18, 0.15);
    expect_note(&got, "no preinfusion: the log starts when the brewing pressure was reached");
    feed_free(&got);
    got = segment_odd((odd_log){ALL, 0, 0, 20, 10, 0, 0}); /* ends in the brew */
    expect(&got, "brew", 9.35, NAN, 0.15);
    expect_note(&got, "no end of the brew: the log ends, or pressure stays up");
    feed_free(&got);
    got = segment_odd((odd_log){ALL, 0, 0, 9, 10, 0, 0}); /* ends in the rise */
    expect(&got, "preinfusion", 2, NAN, 0.15);
    expect(&got, "brew", NAN, NAN, 0);
    expect_note(&got, "no end of the preinfusion: the log ends before the pressure has stayed");
    feed_free(&got);
}

static void a_channel_that_never_changes_tells_nothing(void **state) {
    feed got = segment_odd((odd_log){ALL, ALL, 0, 35, 10, 0, 0});
    expect(&got, "preinfusion", NAN, NAN, 0);
    expect(&got, "brew", NAN, NAN, 0);
    expect(&got, "first-drip", NAN, NAN, 0);
    expect_note(&got, "no phases: the pressure never changes");
    expect_note(&got, "no first drip: the weight never changes");
    feed_free(&got);
    got = segment_odd((odd_log){ALL, FLOW, 0, 35, 10, 0, 0});
    expect(&got, "preinfusion", 2.5, 9.35, 0.15);
    expect_note(&got, "the flow never changes: water entered the basket up to some seconds before");
    feed_free(&got);
    got = segment_odd((odd_log){ALL, PRESSURE, 0, 35, 10, 0, 0});
    expect(&got, "preinfusion", 2, NAN, 0.15);
    expect_note(&got, "no phases: the pressure never changes");
    feed_free(&got);
}

/* Too short, wrong zero, slow and fast, idle minutes, two shots. */
static void odd_conditions_change_nothing_else(void **state) {
    feed got = segment_odd((odd_log){ALL, 0, 0, 0.3, 10, 0, 0});
    expect_note(&got, "no phases: the pressure has fewer than five samples");
    feed_free(&got);
    static const double zeros[] = {0.3, -0.4, -0.9};
    for (int i = 0; i < 3; i++) {
        got = segment_odd((odd_log){ALL, 0, 0, 35, 10, zeros[i], 0});
        expect(&got, "soak", 3, 8, 0.15);
        expect(&got, "release", 30, 30.87, 0.15);
        feed_free(&got);
    }
    static const double rates[] = {2, 1000};
    for (int i = 0; i < 2; i++) { /* at 2 Hz a sampling interval is 0.5 s */
        got = segment_odd((odd_log){ALL, 0, 0, 35, rates[i], 0, 0});
        expect(&got, "preinfusion", 2, 9.35, i == 0 ? 0.5 : 0.1);
        expect(&got, "brew", 9.35, 30, i == 0 ? 0.5 : 0.1);
        feed_free(&got);
    }
    got = segment_odd((odd_log){ALL, 0, -180, 200, 10, 0, 0});
    expect(&got, "preinfusion", 182, 189.35, 0.15);
    expect(&got, "brew", 189.35, 210, 0.15);
    feed_free(&got);
    got = segment_odd((odd_log){ALL, 0, 0, 100, 10, 0, 60});
    expect(&got, "preinfusion", 2, 9.35, 0.15);
    expect(&got, "brew", 9.35, 30, 0.15);
    expect_note(&got, "more than one shot in this log: only the first was looked at");
    feed_free(&got);
}

/* A spring lets go of 7 % in a second, and the puck of what is left in seconds. */
static double spring_pressure(double t) {
    return t < 9.5 ? held_pressure(t)
                   : 9 * exp(-0.07 * (fmin(t, 30) - 9.5)) * exp(-fmax(t - 30, 0) / 1.5);
}

/* A spring's brew ends where its flow stops or its fall bends, not where the fall began. */
static void a_brew_may_fall_before_it_ends(void **state) {
    static const int channels[] = {ALL, PRESSURE};
    for (size_t i = 0; i < sizeof channels / sizeof *channels; i++) {
        feed got = segment_shape((odd_log){channels[i], 0, 0, 40, 20, 0, 0}, spring_pressure);
        expect(&got, "brew", 9.35, 30, 0.15);
        expect(&got, "release", 30, 32.18, 0.15);
        feed_free(&got);
    }
}

/* The rise from 3 bar pauses at 7.5 bar, where a main plateau could be. */
static double pausing_pressure(double t) {
    if (t < 8 || t >= 30)
        return held_pressure(t);
    return t < 10 ? 3 + 4.5 * fmin(1, t - 8) : 7.5 + 1.5 * fmin(1, t - 10);
}

static void a_rise_that_pauses_is_one_rise(void **state) {
    feed got = segment_shape((odd_log){ALL, 0, 0, 35, 10, 0, 0}, pausing_pressure);
    expect(&got, "soak", 3, 8, 0.15);
    expect(&got, "ramp", 8, 10.7, 0.15);
    feed_free(&got);
}

/* Before a jet of 0.2 bar s2/ml2 the pump shows 7.2 bar while 6 ml/s fill the basket. */
static double jet_pressure(double t) {
    return held_pressure(t) + 0.2 * held_flow(t) * held_flow(t);
}

/* Where the gauge sits is a guess from the curves, and is said to be one; `# gauge: puck` ends it.
 */
static void a_restrictor_is_a_guess(void **state) {
    feed got = segment_shape((odd_log){ALL, 0, 0, 35, 10, 0, 0}, jet_pressure);
    expect(&got, "brew", 9.35, 30, 0.15);
    expect_note(&got, "the curves look as if the gauge sat before a restrictor");
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(water_and_full_pressure_are_told_in_time),
        cmocka_unit_test(a_flush_is_no_brew),
        cmocka_unit_test(whatever_is_logged_the_rest_is_told),
        cmocka_unit_test(a_scale_alone_tells_when_the_stream_stopped),
        cmocka_unit_test(a_cut_log_says_what_it_cannot_know),
        cmocka_unit_test(a_channel_that_never_changes_tells_nothing),
        cmocka_unit_test(odd_conditions_change_nothing_else),
        cmocka_unit_test(a_brew_may_fall_before_it_ends),
        cmocka_unit_test(a_rise_that_pauses_is_one_rise),
        cmocka_unit_test(a_restrictor_is_a_guess),
        cmocka_unit_test(noise_alone_rarely_looks_like_water),
        cmocka_unit_test(phases_of_the_textbook_shot),
        cmocka_unit_test(the_scale_lag_is_taken_off),
        cmocka_unit_test(missing_channels_take_only_what_they_tell),
        cmocka_unit_test(odd_logs_are_answered),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
