/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: of one shot each log tells what it can, whatever channels, length, rate, zero or idle
 * time it has, and says in words what it cannot; and shots of other shapes keep their phases. */
#include <support/feed.h>

#include <support/mark_text.h>

#include <math.h>

#include <shottrace/signal/random.h>

enum { PRESSURE = 1, FLOW = 2, WEIGHT = 4 };

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
    int channels, constant;   /* which are logged, and which of these never change */
    double from, to, rate;    /* of the log, s and Hz; times start at 0 */
    double zero, every;       /* bar added; the shot comes again every so many seconds */
    double (*flow)(double t); /* NULL: held_flow */
} odd_log;

static void odd_cell(shot_text *text, const odd_log *log, int channel, double value, double noise) {
    if (log->channels & channel)
        shot_text_add_format(text, ",%.2f", log->constant & channel ? 2 : value + noise);
}

static feed shape_through(const char *chain, odd_log log, double (*pressure)(double t)) {
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
        double flow = log.flow != NULL ? log.flow(one) : held_flow(one);
        odd_cell(&text, &log, FLOW, flow, 0.05 * shot_random_normal(&random));
        odd_cell(&text, &log, WEIGHT, held_weight(one), 0.05 * shot_random_normal(&random));
        shot_text_add(&text, "\n");
    }
    return feed_log(chain, &text);
}

static feed segment_shape(odd_log log, double (*pressure)(double t)) {
    return shape_through("segment", log, pressure);
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
        feed got = segment_odd((odd_log){channels[i], 0, 0, 35, 10, 0, 0, NULL});
        expect(&got, "soak", 3, 8, 0.15);
        expect(&got, "brew", 9.35, 30, 0.15);
        expect(&got, "preinfusion", channels[i] & FLOW ? 2 : 2.5, 9.35, 0.15);
        expect(&got, "first-drip", channels[i] & WEIGHT ? 10 : NAN, 10, 0.15);
        feed_free(&got);
    }
    feed got = segment_odd((odd_log){FLOW | WEIGHT, 0, 0, 35, 10, 0, 0, NULL});
    expect(&got, "preinfusion", 2, NAN, 0.15);
    expect(&got, "first-drip", 10, 10, 0.15);
    expect(&got, "brew", NAN, NAN, 0);
    expect(&got, "note", 30, 30, 0.15); /* of the water, and one of the stream */
    expect_note(&got, "no phases: there is no pressure to tell them by");
    feed_free(&got);
    got = segment_odd((odd_log){FLOW, 0, 0, 35, 10, 0, 0, NULL});
    expect(&got, "preinfusion", 2, NAN, 0.15);
    expect(&got, "note", 30, 30, 0.15);
    expect_note(&got, "the water stopped: a brew ended by then");
    expect_note(&got, "no first drip: there is no weight or outflow");
    feed_free(&got);
}

/* The end of the stream is all that a scale alone knows of the end of the brew. */
static void a_scale_alone_tells_when_the_stream_stopped(void **state) {
    feed got = segment_odd((odd_log){WEIGHT, 0, 0, 35, 10, 0, 0, NULL});
    expect(&got, "first-drip", 10, 10, 0.15);
    expect(&got, "note", 30, 30, 0.15);
    assert_non_null(strstr(got.out.bytes, "the stream into the cup stopped"));
    feed_free(&got);
    got = segment_odd((odd_log){WEIGHT, 0, 0, 25, 10, 0, 0, NULL}); /* the log ends in the stream */
    expect(&got, "note", NAN, NAN, 0);
    feed_free(&got);
    got = segment_odd((odd_log){ALL, 0, 0, 35, 10, 0, 0, NULL}); /* a gauge knows better */
    expect(&got, "note", NAN, NAN, 0);
    feed_free(&got);
}

static void a_cut_log_says_what_it_cannot_know(void **state) {
    feed got = segment_odd((odd_log){ALL, 0, 5, 35, 10, 0, 0, NULL}); /* starts in the soak */
    expect(&got, "fill", NAN, NAN, 0);
    expect(&got, "soak", 0, 3, 0.15);
    expect(&got, "brew", 4.35, 25, 0.15);
    expect_note(&got, "the log starts when water was in already");
    const char *final = strstr(got.out.bytes, "# mark: preinfusion id=p1 ");
    assert_non_null(final);
    assert_true(isnan(mark_number(final, "from.low"))); /* since when, nobody knows */
    feed_free(&got);
    got = segment_odd((odd_log){ALL, 0, 12, 35, 10, 0, 0, NULL}); /* starts in the brew */
    expect(&got, "preinfusion", NAN, NAN, 0);
    expect(&got, "first-drip", NAN, NAN, 0);
    expect(&got, "brew", 0, 18, 0.15);
    expect_note(&got, "no preinfusion: the log starts when the brewing pressure was reached");
    feed_free(&got);
    got = segment_odd((odd_log){ALL, 0, 0, 20, 10, 0, 0, NULL}); /* ends in the brew */
    expect(&got, "brew", 9.35, NAN, 0.15);
    expect_note(&got, "no end of the brew: the log ends, or pressure stays up");
    feed_free(&got);
    got = segment_odd((odd_log){ALL, 0, 0, 9, 10, 0, 0, NULL}); /* ends in the rise */
    expect(&got, "preinfusion", 2, NAN, 0.15);
    expect(&got, "brew", NAN, NAN, 0);
    expect_note(&got, "no end of the preinfusion: the log ends before the pressure has stayed");
    feed_free(&got);
}

static void a_channel_that_never_changes_tells_nothing(void **state) {
    feed got = segment_odd((odd_log){ALL, ALL, 0, 35, 10, 0, 0, NULL});
    expect(&got, "preinfusion", NAN, NAN, 0);
    expect(&got, "brew", NAN, NAN, 0);
    expect(&got, "first-drip", NAN, NAN, 0);
    expect_note(&got, "no phases: the pressure never changes");
    expect_note(&got, "no first drip: the weight never changes");
    feed_free(&got);
    got = segment_odd((odd_log){ALL, FLOW, 0, 35, 10, 0, 0, NULL});
    expect(&got, "preinfusion", 2.5, 9.35, 0.15);
    expect_note(&got, "the flow never changes: water entered the basket up to some seconds before");
    feed_free(&got);
    got = segment_odd((odd_log){ALL, PRESSURE, 0, 35, 10, 0, 0, NULL});
    expect(&got, "preinfusion", 2, NAN, 0.15);
    expect_note(&got, "no phases: the pressure never changes");
    feed_free(&got);
}

/* Too short, wrong zero, slow and fast, idle minutes, two shots. */
static void odd_conditions_change_nothing_else(void **state) {
    feed got = segment_odd((odd_log){ALL, 0, 0, 0.3, 10, 0, 0, NULL});
    expect_note(&got, "no phases: the pressure has fewer than five samples");
    feed_free(&got);
    static const double zeros[] = {0.3, 1.0, -0.4, -0.9};
    for (int i = 0; i < 4; i++) {
        got = segment_odd((odd_log){ALL, 0, 0, 35, 10, zeros[i], 0, NULL});
        expect(&got, "soak", 3, 8, 0.15);
        expect(&got, "release", 30, 30.87, 0.15);
        feed_free(&got);
    }
    static const double rates[] = {2, 1000};
    for (int i = 0; i < 2; i++) { /* at 2 Hz a sampling interval is 0.5 s */
        got = segment_odd((odd_log){ALL, 0, 0, 35, rates[i], 0, 0, NULL});
        expect(&got, "preinfusion", 2, 9.35, i == 0 ? 0.5 : 0.1);
        expect(&got, "brew", 9.35, 30, i == 0 ? 0.5 : 0.1);
        feed_free(&got);
    }
    got = segment_odd((odd_log){ALL, 0, -180, 200, 10, 0, 0, NULL});
    expect(&got, "preinfusion", 182, 189.35, 0.15);
    expect(&got, "brew", 189.35, 210, 0.15);
    feed_free(&got);
    got = segment_odd((odd_log){ALL, 0, 0, 100, 10, 0, 60, NULL});
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
        feed got = segment_shape((odd_log){channels[i], 0, 0, 40, 20, 0, 0, NULL}, spring_pressure);
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
    feed got = segment_shape((odd_log){ALL, 0, 0, 35, 10, 0, 0, NULL}, pausing_pressure);
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
    feed got = segment_shape((odd_log){ALL, 0, 0, 35, 10, 0, 0, NULL}, jet_pressure);
    expect(&got, "brew", 9.35, 30, 0.15);
    expect_note(&got, "the curves look as if the gauge sat before a restrictor");
    feed_free(&got);
}

/* A gauge at the puck: 2.4 ml/s fill the basket at no pressure until 7 s; then the pressure rises,
 * and for a while the flow goes with its root. */
static double soft_pressure(double t) {
    return t < 7 || t > 33 ? 0 : t < 30 ? fmin(9, 3.6 * (t - 7)) : 9 * exp(-(t - 30) / 0.3);
}

static double soft_flow(double t) {
    return t < 2 || t >= 9.5 ? held_flow(t) : fmax(2.4, sqrt(5 * soft_pressure(t)));
}

/* A restrictor takes its pressure at any flow: what runs at none refutes it. */
static void a_restrictor_takes_its_pressure_at_any_flow(void **state) {
    feed got =
        segment_shape((odd_log){PRESSURE | FLOW, 0, 0, 35, 10, 0, 0, soft_flow}, soft_pressure);
    assert_null(strstr(got.out.bytes, "as if the gauge sat before a restrictor"));
    expect(&got, "fill", 2, 7.14, 0.15);
    feed_free(&got);
}

/* A line kept at 3 bar behind the gauge's jet, 0.13 bar.s2/ml2: it is charged for half a second,
 * which the meter shows too; the basket fills with 4.8 ml/s until 6 s, then the puck holds it up.
 */
static double charged_flow(double t) {
    if (t < 2 || t >= 8)
        return held_flow(t);
    return t < 6 ? 4.8 + 1.6 * exp(-(t - 2) / 0.2) : 0.8 + 4 * exp(-(t - 6) / 0.5);
}

static double charged_pressure(double t) {
    if (t >= 8)
        return held_pressure(t) + 0.13 * charged_flow(t) * charged_flow(t);
    return t < 2 ? 0 : 3 * (1 - exp(-(t - 2) / 0.2));
}

/* Half of the 3 bar at 6 s and a half. */
static void a_line_that_is_charged_first_hides_no_restrictor(void **state) {
    feed got = shape_through("tag --set gauge=pump | segment",
                             (odd_log){ALL, 0, 0, 35, 10, 0, 0, charged_flow}, charged_pressure);
    expect(&got, "fill", 2, 6.2, 0.25);
    expect_note(&got, "as before a restrictor: pressure at the puck is worked out");
    feed_free(&got);
}

/* No valve lets the pressure go: the puck drains, and takes a trickle out of the hose. */
static double draining_pressure(double t) {
    return t < 30 ? held_pressure(t) : 9 / (1 + (t - 30) / 0.8);
}

static double draining_flow(double t) {
    return t < 30 ? held_flow(t) : t < 38 ? 0.12 : 0;
}

/* A tenth of the brew's flow is no brew, however well a fast meter shows it. */
static void a_trickle_is_no_brew(void **state) {
    feed got = segment_shape((odd_log){ALL, 0, 0, 45, 100, 0, 0, draining_flow}, draining_pressure);
    expect(&got, "brew", 9.35, 30, 0.1);
    feed_free(&got);
}

/* The pressure shoots up from 3 to 9 bar and is back at 5 bar after a third of a second. */
static double peaked_pressure(double t) {
    if (t < 8.4 || t >= 30)
        return t < 8.4 ? fmin(held_pressure(t), 3) : held_pressure(t);
    return t < 8.6 ? 3 + 30 * (t - 8.4) : fmax(5, 9 - 30 * (t - 8.6));
}

/* The first main peak ends the preinfusion, as short as it may be: its mean over 0.3 s is 7 bar, 95
 * % of which are reached at 8.52 s. */
static void a_short_peak_is_one(void **state) {
    feed got = segment_shape((odd_log){ALL, 0, 0, 35, 10, 0, 0, NULL}, peaked_pressure);
    expect(&got, "preinfusion", 2, 8.52, 0.15);
    expect(&got, "brew", 8.52, 30, 0.15);
    feed_free(&got);
}

/* A spring pulled twice: from 9 bar down to 5 in the first pull, from 8.4 s to 22 s; what is left
 * drains while it is cocked again, and the second pull takes from 25 s to 36 s. */
static double pulled_twice(double t) {
    if (t < 8.4 || t >= 36)
        return t < 8.4 ? fmin(held_pressure(t), 3) : 5 * exp(-(t - 36) / 0.3);
    if (t < 22)
        return fmin(3 + 30 * (t - 8.4), 9 - 4 * (t - 8.6) / 13.4);
    return t < 25 ? 5 * exp(-(t - 22) / 0.5) : fmin(30 * (t - 25), 9 - 4 * (t - 25.3) / 10.7);
}

/* The first pull, from the water on, is the longest run; it ends where the fall bends, not at its
 * peak, from which the whole pull declines.  95 % of 9 bar are reached at 8.59 s. */
static void a_pull_that_declines_is_no_fall(void **state) {
    feed got = segment_shape((odd_log){PRESSURE, 0, 0, 40, 10, 0, 0, NULL}, pulled_twice);
    expect(&got, "preinfusion", 2.5, 8.59, 0.15);
    expect(&got, "brew", 8.59, 36, 0.15);
    feed_free(&got);
}

/* Of the shot above the pump stands from 18 to 20 s. */
static double interrupted_pressure(double t) {
    return t < 18 || t > 20.5 ? held_pressure(t)
           : t < 20           ? 9 * exp(-(t - 18) / 0.5)
                              : fmin(9, 0.2 + 18 * (t - 20));
}

static double interrupted_flow(double t) {
    return t >= 18 && t < 20 ? 0 : held_flow(t);
}

/* Where the pressure is eased off and water runs on, nothing stands. */
static double eased_pressure(double t) {
    return t < 18 || t > 22 ? held_pressure(t) : 9 - 6 * (1 - fabs(t - 20) / 2);
}

/* The brew goes on, and a note tells of the pause. */
static void a_pump_that_stands_in_the_brew_is_told(void **state) {
    feed got = segment_shape((odd_log){PRESSURE | FLOW, 0, 0, 40, 10, 0, 0, interrupted_flow},
                             interrupted_pressure);
    expect(&got, "brew", 9.35, 30, 0.15);
    expect_note(&got, "the pump stood for 2.0 s, 8.6 s into the brew");
    feed_free(&got);
    got = segment_shape((odd_log){PRESSURE | FLOW, 0, 0, 40, 10, 0, 0, NULL}, eased_pressure);
    assert_null(strstr(got.out.bytes, "the pump stood"));
    feed_free(&got);
}

/* Water for 1.5 s without a cup or a puck, 8 s before the shot. */
static double flushed_flow(double t) {
    return t < 10 ? t >= 0.5 && t < 2 ? 7 : 0 : held_flow(t - 8);
}

static double flushed_pressure(double t) {
    return held_pressure(t - 8);
}

static void a_flush_before_the_shot_is_named(void **state) {
    feed got = segment_shape((odd_log){PRESSURE | FLOW, 0, 0, 45, 10, 0, 0, flushed_flow},
                             flushed_pressure);
    expect_note(&got, "water ran for 1.5 s, met no pressure and stood for 8.0 s: if that was a "
                      "flush, shot-split");
    feed_free(&got);
}

/* A direct shot: 7 ml/s fill the basket until 8 s, and the gauge creeps up to 0.7 bar meanwhile. */
static double direct_pressure(double t) {
    return t < 2 || t >= 8 ? held_pressure(t) - (t >= 8 && t < 9.5 ? 2.3 * (9.5 - t) / 1.5 : 0)
                           : fmin(0.7, 0.35 + 0.1 * (t - 2));
}

static double direct_flow(double t) {
    return t >= 2 && t < 8 ? 7 : held_flow(t);
}

/* The same with water shut off to a trickle: the puck is held at 0.7 bar. */
static double low_soak_flow(double t) {
    return t >= 3 && t < 8 ? 0.6 : held_flow(t);
}

/* Where there is a meter, it tells a basket that fills from a puck that is held wet. */
static void a_gauge_that_creeps_while_water_runs_holds_nothing(void **state) {
    feed got = segment_shape((odd_log){ALL, 0, 0, 35, 10, 0, 0, direct_flow}, direct_pressure);
    expect(&got, "soak", NAN, NAN, 0);
    expect(&got, "fill", 2, 8, 0.3);
    expect(&got, "ramp", 8, 9.4, 0.3);
    feed_free(&got);
    got = segment_shape((odd_log){ALL, 0, 0, 35, 10, 0, 0, low_soak_flow}, direct_pressure);
    double from, to;
    assert_true(mark_of(got.out.bytes, "soak", &from, &to));
    assert_close(to, 8, 0.3);
    feed_free(&got);
}

/* A first pull to `last`, then a second that lasts longer, from 3 s after it to 40 s. */
static double pulled_again(double t, double first, double last) {
    if (t < last)
        return fmin(held_pressure(fmin(t, 8)), 3) + fmax(0, fmin(4.5, 20 * (t - first)));
    return t < last + 3 ? 7.5 * exp(-(t - last) / 1.0)
           : t < 40     ? fmin(7.5, 0.4 + 20 * (t - last - 3))
                        : 7.5 * exp(-(t - 40) / 0.3);
}

static double pulled_late(double t) {
    return pulled_again(t, 8, 16);
}

static double pulled_early(double t) {
    return pulled_again(t, 2.5, 8.5);
}

/* A puck that had its pressure and gave beverage (here from 10 s on) is no longer pre-wetted,
 * however long the second pull is; one that gave none is.  Without a scale 5 s at pressure tell. */
static void what_brewed_was_no_preinfusion(void **state) {
    static const int channels[] = {PRESSURE | WEIGHT, PRESSURE};
    for (size_t i = 0; i < sizeof channels / sizeof *channels; i++) {
        feed got = segment_shape((odd_log){channels[i], 0, 0, 45, 10, 0, 0, NULL}, pulled_late);
        expect(&got, "soak", 3, 8, 0.15);
        expect(&got, "preinfusion", 2.5, 8.2, 0.15);
        expect(&got, "brew", 8.2, 40, 0.15);
        expect_note(&got, "into the brew");
        feed_free(&got);
        got = segment_shape((odd_log){channels[i], 0, 0, 45, 10, 0, 0, NULL}, pulled_early);
        expect(&got, "brew", channels[i] & WEIGHT ? 11.8 : 3.1, 40, 0.3);
        feed_free(&got);
    }
}

/* After a bloom without pump a full puck takes water as slowly as its pressure comes up. */
static double risen_slowly(double t) {
    const double u = fmin(1, fmax(0, (t - 20) / 4));
    return t < 5 ? 0.2 * fmax(0, t - 3) : t < 32 ? 0.4 + 8.6 * u * u * (3 - 2 * u) : 0;
}

static double drawn_by_pressure(double t) {
    return t < 2 || t > 32 ? 0 : t < 5 ? 6 : t < 20 ? 0 : risen_slowly(t) / 4;
}

static void a_bloom_lasts_until_the_pressure_leaves_it(void **state) {
    static const double rates[] = {8, 25, 100};
    for (size_t i = 0; i < sizeof rates / sizeof *rates; i++) {
        feed got = segment_shape(
            (odd_log){PRESSURE | FLOW, 0, 0, 36, rates[i], 0, 0, drawn_by_pressure}, risen_slowly);
        expect(&got, "soak", 5, 20, 0.6);
        feed_free(&got);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_pump_that_stands_in_the_brew_is_told),
        cmocka_unit_test(a_flush_before_the_shot_is_named),
        cmocka_unit_test(whatever_is_logged_the_rest_is_told),
        cmocka_unit_test(a_scale_alone_tells_when_the_stream_stopped),
        cmocka_unit_test(a_cut_log_says_what_it_cannot_know),
        cmocka_unit_test(a_channel_that_never_changes_tells_nothing),
        cmocka_unit_test(odd_conditions_change_nothing_else),
        cmocka_unit_test(a_brew_may_fall_before_it_ends),
        cmocka_unit_test(a_rise_that_pauses_is_one_rise),
        cmocka_unit_test(a_restrictor_is_a_guess),
        cmocka_unit_test(a_restrictor_takes_its_pressure_at_any_flow),
        cmocka_unit_test(a_line_that_is_charged_first_hides_no_restrictor),
        cmocka_unit_test(a_trickle_is_no_brew),
        cmocka_unit_test(a_short_peak_is_one),
        cmocka_unit_test(a_gauge_that_creeps_while_water_runs_holds_nothing),
        cmocka_unit_test(a_pull_that_declines_is_no_fall),
        cmocka_unit_test(what_brewed_was_no_preinfusion),
        cmocka_unit_test(a_bloom_lasts_until_the_pressure_leaves_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
