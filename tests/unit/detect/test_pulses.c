/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: pulses before the main rise are counted, timed and judged by the pressure between them,
 * by flow or by pressure alone; a shot without any has none. */
#include <support/feed.h>

#include <support/analytic_shot.h>
#include <support/mark_text.h>
#include <support/marks_of_log.h>

#include <shottrace/signal/random.h>

/* `count` pulses of 1 s every 3 s from 1 s on, then the main run for 20 s.  The pressure rises and
 * falls exponentially, falling to about `low` bar. */
typedef struct plan {
    int count;
    double low;
    bool meter;
    double rate;
    double lag, zero; /* of the meter, s; of the gauge, bar */
} plan;

static bool is_on(const plan *p, double t) {
    double start = 1 + 3 * p->count;
    if (t >= start)
        return t < start + 20;
    return t >= 1 && fmod(t - 1, 3) < 1;
}

static shot_text write(const plan *p) {
    shot_text text = {0};
    shot_random random = shot_random_at(3, 0);
    double pressure = 0, last = 0, shown = 0;
    shot_text_add_format(&text, "time,pressure%s\n", p->meter ? ",flow" : "");
    for (int i = 0; i <= (24 + 3 * p->count) * p->rate; i++) {
        double t = i / p->rate;
        for (; last < t; last += 0.001) { /* 4 bar at most in a pulse, 9 in the main run */
            bool main_run = last >= 1 + 3 * p->count;
            double goal = !is_on(p, last) ? (last > 1 && !main_run ? p->low : 0) : main_run ? 9 : 4;
            pressure += 0.001 / 0.4 * (goal - pressure);
        }
        double flow = is_on(p, t) ? (t > 1 + 3 * p->count + 2 ? 2 : 6) : 0;
        shown += (flow - shown) * (p->lag > 0 ? 1 - exp(-1 / p->rate / p->lag) : 1);
        shot_text_add_number(&text, t);
        shot_text_add_format(&text, ",%.2f",
                             pressure + p->zero + 0.02 * shot_random_normal(&random));
        if (p->meter)
            shot_text_add_format(&text, ",%.2f", shown + 0.05 * shot_random_normal(&random));
        shot_text_add(&text, "\n");
    }
    return text;
}

static feed pulses(const plan *p) {
    shot_text text = write(p);
    return feed_log("pulses", &text);
}

/* What gauge and meter would show at a time without noise. */
typedef struct reading {
    double pressure, flow;
} reading;

/* A log of 35 s: `at` tells what it shows, `noise` the SD of both; without a meter, of 0. */
typedef struct scene {
    reading (*at)(double t, bool variant);
    reading noise;
    double rate;
    uint64_t seed;
} scene;

static feed pulses_of(const scene *s, bool variant) {
    shot_text text = {0};
    shot_random random = shot_random_at(s->seed, 0);
    const bool meter = s->noise.flow > 0;
    shot_text_add_format(&text, "time,pressure%s\n", meter ? ",flow" : "");
    for (int i = 0; i <= 35 * s->rate; i++) {
        double t = i / s->rate;
        reading r = s->at(t, variant);
        shot_text_add_format(&text, "%.5f,%.2f", t,
                             r.pressure + s->noise.pressure * shot_random_normal(&random));
        if (meter)
            shot_text_add_format(&text, ",%.2f",
                                 r.flow + s->noise.flow * shot_random_normal(&random));
        shot_text_add(&text, "\n");
    }
    return feed_log("pulses", &text);
}

/* Edges of the flow lie between two samples: half a sampling interval, and a little for the fit. */
static void expect_pulses(const plan *p, double tolerance) {
    feed got = pulses(p);
    assert_int_equal(final_count(got.out.bytes, "pulse"), p->count);
    for (int i = 0; i < p->count; i++) {
        const char *line = final_line(got.out.bytes, "pulse", i);
        assert_close(mark_number(line, "from"), 1 + 3 * i, tolerance);
        assert_close(mark_number(line, "to"), 2 + 3 * i, tolerance);
        assert_close(mark_number(line, "value"), p->low + p->zero,
                     0.15); /* exp(-2/0.4) of 3 bar is left */
        assert_non_null(strstr(line, p->low < 0.5 ? "fell under 0.5 bar" : "stayed over 0.5 bar"));
    }
    feed_free(&got);
}

static void told_by_flow(void **state) {
    expect_pulses(&(plan){.count = 4, .low = 0.2, .meter = true, .rate = 20}, 0.05);
    expect_pulses(&(plan){.count = 2, .low = 1.1, .meter = true, .rate = 10}, 0.08);
}

/* What a slow meter still shows when the pump stands is no flow, though a fast log tells it well.
 */
static void told_by_a_meter_that_lags(void **state) {
    expect_pulses(&(plan){.count = 3, .low = 0.2, .meter = true, .rate = 100, .lag = 0.1}, 0.15);
    expect_pulses(&(plan){.count = 3, .low = 1.1, .meter = true, .rate = 25, .lag = 0.2}, 0.25);
}

/* What the gauge shows without pressure is no pressure. */
/* Water as a meter shows it that takes means over a second: it never comes to rest between pulses
 * of 0.6 s every 1.4 s, which the pressure shows. */
static void told_in_spite_of_a_slow_gate(void **state) {
    shot_text text = {0};
    double pressure = 0, water[200] = {0};
    shot_text_add(&text, "# gauge: puck\ntime,pressure,flow\n");
    for (int i = 1; i < 200; i++) {
        const double t = i * 0.2, start = 2 + 4 * 1.4;
        const bool on = t >= 1.9 && t < 25 && (t >= start || fmod(t - 1.9, 1.4) < 0.6);
        water[i] = water[i - 1] + (on ? 0.2 * 3 : 0);
        pressure += (on ? 0.55 : 0.45) * ((on ? (t < start ? 7 : 9) : 0.8) - pressure);
        shot_text_add_format(&text, "%.1f,%.2f,%.2f\n", t, t < 1.9 ? 0 : pressure,
                             water[i] - water[i > 5 ? i - 5 : 0]);
    }
    assert_int_equal(final_count_of("pulses", &text, "pulse"), 4);
}

static void told_by_a_gauge_whose_zero_is_off(void **state) {
    for (double zero = -0.7; zero < 1; zero += 1.4) {
        expect_pulses(&(plan){.count = 3, .low = 0.2, .meter = true, .rate = 10, .zero = zero},
                      0.08);
        expect_pulses(&(plan){.count = 3, .low = 0.2, .rate = 20, .zero = zero}, 0.12);
    }
}

/* A pressure turns a corner at each edge; the first has none where the basket is not full. */
static void told_by_pressure_alone(void **state) {
    expect_pulses(&(plan){.count = 3, .low = 0.2, .rate = 20}, 0.12);
}

/* Without pressure the longest run is the brew, and what comes before it are pulses; what stops and
 * starts behind it is none. */
/* Two pulses and the main run by pressure alone at 4 Hz, as `stray` changes one row. */
static feed pulses_with_stray(int row, double shown) {
    shot_text text = {0};
    double pressure = 0;
    shot_text_add(&text, "time,pressure\n");
    for (int i = 0; i < 120; i++) {
        const double t = i * 0.25;
        const bool on = (t >= 2 && t < 4) || (t >= 8 && t < 10) || (t >= 14 && t < 26);
        pressure += (on ? 0.4 : 0.25) * ((on ? (t < 14 ? 6 : 9) : 0.2) - pressure);
        shot_text_add_format(&text, "%.2f,%.2f\n", t, i == row ? shown : pressure);
    }
    return feed_log("pulses", &text);
}

/* A pump runs and stands for longer than a row of such a log: one stray figure, up while the puck
 * drains or down while the pump runs, is neither a pulse nor a gap. */
static void a_lone_figure_is_no_pulse(void **state) {
    static const struct {
        int row;
        double shown;
    } strays[] = {{-1, 0}, {44, 4.5}, {45, 0}, {37, 0.5}, {60, 2}};
    for (size_t i = 0; i < sizeof strays / sizeof *strays; i++) {
        feed got = pulses_with_stray(strays[i].row, strays[i].shown);
        assert_int_equal(final_count(got.out.bytes, "pulse"), 2);
        feed_free(&got);
    }
}

static void told_by_flow_alone(void **state) {
    const plan p = {.count = 4, .low = 0.2, .meter = true, .rate = 20};
    shot_text text = write(&p);
    shot_text_add(&text, "37,0,0\n38,0,4\n38.5,0,4\n39,0,0\n");
    feed got = feed_chain("pick --drop pressure | pulses", text.bytes, text.length, 0);
    assert_int_equal(got.status, SHOT_OK);
    assert_int_equal(final_count(got.out.bytes, "pulse"), p.count);
    for (int i = 0; i < p.count; i++) {
        const char *line = final_line(got.out.bytes, "pulse", i);
        assert_close(mark_number(line, "from"), 1 + 3 * i, 0.05);
        assert_close(mark_number(line, "to"), 2 + 3 * i, 0.05);
    }
    assert_non_null(strstr(got.out.bytes, "taken to be the brew"));
    feed_free(&got);
    shot_text_free(&text);
}

/* A controller fills at 8 ml/s, lets the flow go to nothing for 0.3 s as it comes to its pressure,
 * and holds that with 1 ml/s; with `stop` it shuts off at 6 s and the puck drains. */
static reading controlled(double t, bool stop) {
    double flow = t < 1 ? 0 : t < 3 ? 8 : t < 3.3 ? 0 : t < 9 ? 1 : t < 9.5 ? 6 : 2;
    double pressure = t < 2.5  ? 0
                      : t < 3  ? 8 * (t - 2.5)
                      : t < 9  ? 2.8 + 1.2 * exp(-(t - 3) / 2)
                      : t < 10 ? 2.86 + 6.14 * (t - 9)
                               : 9;
    if (stop && t >= 6 && t < 9)
        return (reading){pressure * exp(-(t - 6) / 0.4), 0};
    return t > 30 ? (reading){9 * exp(-(t - 30) / 0.3), 0} : (reading){pressure, flow};
}

/* A pump that holds a level with little water stands only when it stops; half a sampling interval,
 * and a little for the fit. */
/* Shots whose flow sinks with the pressure and stops in no gap: nine in ten get the right number
 * (docs/pulses.md), so that 16 of 20 leave room for chance. */
static void told_by_pressure_where_the_flow_never_stops(void **state) {
    size_t exact = 0;
    for (uint64_t i = 0; i < 20; i++) {
        analytic_shot *shot;
        assert_int_equal(analytic_shot_new(ANALYTIC_PULSES, SHOT_GRADE_TYPICAL, 700, i, &shot),
                         SHOT_OK);
        shot_text text = {0};
        int planned = 0;
        for (size_t k = 0; k < shot->truth.count; k++)
            planned += strcmp(shot->truth.items[k].kind, "pulse") == 0;
        shot_text_add(&text, "time,pressure,flow\n");
        for (size_t k = 0; k < shot->rows; k++)
            shot_text_add_format(&text, "%.5f,%.5f,%.5f\n", shot->time[k], shot->pressure[k],
                                 shot->flow[k]);
        exact += final_count_of("pulses", &text, "pulse") == planned;
        analytic_shot_free(shot);
    }
    assert_true(exact >= 16);
}

/* No pulse where the pump runs on; one, from..to, where it stops. */
static void expect_one_where_shut(const scene *s, double from, double to) {
    feed held = pulses_of(s, false), shut = pulses_of(s, true);
    assert_int_equal(final_count(held.out.bytes, "pulse"), 0);
    assert_int_equal(final_count(shut.out.bytes, "pulse"), 1);
    const char *line = final_line(shut.out.bytes, "pulse", 0);
    assert_close(mark_number(line, "from"), from, 0.05);
    assert_close(mark_number(line, "to"), to, 0.05);
    feed_free(&held);
    feed_free(&shut);
}

static void a_held_level_is_no_pulse(void **state) {
    const scene s = {controlled, {0.03, 0.08}, 20, 5};
    expect_one_where_shut(&s, 1, 6);
}

/* The gauge of a restricted machine sits at the pump and shows 0.12 q^2 bar beside what the puck
 * has. The basket fills with 6.6 ml/s until 5 s; then 1 ml/s bring the puck to 4 bar, with a time
 * constant of 0.5 s, and the gauge falls from 5.2 to 0.1 bar and comes up again.  With `stop` the
 * pump stands from 9 s to 12.5 s. */
static reading behind_a_jet(double t, bool stop) {
    double flow = t < 2 ? 0 : t < 5 ? 6.6 : t < 12.5 ? 1 : 2;
    double puck = t < 5 ? 0 : 4 * (1 - exp(-(t - 5) / 0.5));
    if (t >= 9 && t < 12.5 && stop)
        flow = 0, puck *= exp(-(t - 9) / 0.4);
    if (t >= 12.5)
        puck = 9 - (stop ? 9 : 5) * exp(-(t - 12.5) / 0.8);
    if (t > 30)
        flow = 0, puck = 9 * exp(-(t - 30) / 0.3);
    return (reading){puck + 0.12 * flow * flow, flow};
}

/* What a restrictor takes is no pressure that the puck lost. */
static void flow_that_eases_off_behind_a_jet_is_no_pulse(void **state) {
    const scene s = {behind_a_jet, {0.02, 0.05}, 20, 6};
    expect_one_where_shut(&s, 2, 9);
}

/* A gauge alone.  A controller shoots over to 5 bar at 3 s and settles at 3 bar with a time
 * constant of 0.5 s; or, with `pulsed`, the pump stands from 3 s to 3.4 s, in which the puck drains
 * from 5 to 3 bar (a time constant of 0.78 s), and starts again.  From 9 s it goes up to 9 bar. */
static reading gauge_alone(double t, bool pulsed) {
    double settled = 3 + 2 * exp(-(t - 3) / 0.5);
    double back = t < 3.4 ? 5 * exp(-(t - 3) / 0.78) : 5 - 2 * exp(-(t - 3.4) / 0.3);
    double held = t < 3 ? fmax(0, 5 * (t - 2)) : pulsed ? back : settled;
    double pressure = t < 9 ? held : 9 - (pulsed ? 4 : 6) * exp(-(t - 9) / 0.8);
    return (reading){t > 30 ? 9 * exp(-(t - 30) / 0.3) : pressure, 0};
}

/* A short gap leaves more than half of the pressure too, but turns at once. */
static void a_controller_that_settles_is_no_pulse(void **state) {
    const scene s = {gauge_alone, {0.02, 0}, 20, 7};
    feed settles = pulses_of(&s, false), pulsed = pulses_of(&s, true);
    assert_int_equal(final_count(settles.out.bytes, "pulse"), 0);
    assert_int_equal(final_count(pulsed.out.bytes, "pulse"), 1);
    assert_close(mark_number(final_line(pulsed.out.bytes, "pulse", 0), "to"), 3, 0.12);
    feed_free(&settles);
    feed_free(&pulsed);
}

/* A fill to 2.4 bar until 6 s, then a trickle that keeps 1 bar; or, shut, a puck that drains to
 * about as much. */
static reading trickled(double t, bool shut) {
    const double since = t - 6, up = 2.4 * fmin(1, fmax(0, t - 4.8));
    const double left = shut ? 2.4 * exp(-since / 9) : 1 + 1.4 * exp(-since / 0.8);
    if (t > 30)
        return (reading){9 * exp(-(t - 30) / 0.3), 0};
    if (t > 18)
        return (reading){9 - 8 * exp(-(t - 18) / 0.6), 2 + 3 * exp(-(t - 18) / 0.8)};
    return (reading){t < 6 ? up : left, t < 1 ? 0 : t < 6 ? 4 : shut ? 0 : 0.5};
}

/* A puck under pressure drains when the pump stands. */
static void a_puck_that_a_trickle_holds_is_no_gap(void **state) {
    const scene s = {trickled, {0.02, 0.03}, 10, 12};
    feed runs = pulses_of(&s, false), shut = pulses_of(&s, true);
    assert_int_equal(final_count(runs.out.bytes, "pulse"), 0);
    assert_int_equal(final_count(shut.out.bytes, "pulse"), 1);
    feed_free(&runs);
    feed_free(&shut);
}

/* Half a millilitre a count, a figure every quarter of a second: 1.5 ml/s shows as 2, 2, 2, 0. */
static void a_count_that_is_missing_is_no_gap(void **state) {
    shot_text text = {0};
    double water = 0, last = 0, shown = 0;
    shot_text_add(&text, "time,pressure,flow\n");
    for (int i = 0; i < 700; i++) {
        const double t = i * 0.05, hand = 1.2 * fmax(0, 1 - fabs(t - 14) / 2.5);
        const bool on = t >= 1 && t < 30;
        water += on ? 0.05 * (t < 4 ? 6 : 1.5) : 0;
        if (i % 5 == 0) {
            shown = (floor(water / 0.5) - last) * 0.5 / 0.25;
            last = floor(water / 0.5);
        }
        const double pressure = t < 3.5 ? 0 : on ? (9 - hand) * fmin(1, t - 3.5) : 9 * exp(30 - t);
        shot_text_add_format(&text, "%.2f,%.2f,%.0f\n", t, pressure, shown);
    }
    assert_int_equal(final_count_of("pulses", &text, "pulse"), 0);
}

/* What the flow shows is what the puck passes, p / 5, and what the basket still takes: it does not
 * stop between the pulses.  Four pulses to 5 bar every 3 s from 1 s on, of 1 s but for the third,
 * which takes 2.5 s: after it the pressure falls to 3 bar only. */
static feed a_row(void) {
    shot_text text = {0};
    shot_random random = shot_random_at(8, 0);
    double pressure = 0, taken = 6;
    shot_text_add(&text, "time,pressure,flow\n");
    for (int i = 0; i <= 700; i++) {
        double t = i / 20.0, into = fmod(t + 2, 3);
        bool third = t >= 7 && t < 10, on = into < (third ? 2.5 : 1);
        double goal = t < 1 || t >= 30 ? 0 : t >= 13 ? 9 : on ? 5 : 1;
        pressure += (goal - pressure) * (1 - exp(-0.05 / (third && !on ? 0.6 : 0.35)));
        taken *= t > 2 ? exp(-0.05 / 0.8) : 1;
        double flow = t < 1 || t >= 30 ? 0 : taken + pressure / 5;
        shot_text_add_format(&text, "%.2f,%.2f,%.2f\n", t,
                             pressure + 0.03 * shot_random_normal(&random),
                             flow + 0.05 * shot_random_normal(&random));
    }
    return feed_log("pulses", &text);
}

/* In a row of pulses a short gap that leaves more than half of the pressure is one too, and flow
 * that fades says nothing against one. */
static void a_row_of_pulses_is_whole(void **state) {
    static const double off[] = {2, 5, 9.5, 11};
    feed got = a_row();
    assert_int_equal(final_count(got.out.bytes, "pulse"), 4);
    for (int i = 0; i < 4; i++) /* one sampling interval and a half, as the corners are soft */
        assert_close(mark_number(final_line(got.out.bytes, "pulse", i), "to"), off[i], 0.08);
    feed_free(&got);
}

/* A meter that rests at 0.15 ml/s, in a log that starts when water runs, shows its rest at the end.
 */
static void the_rest_may_come_last(void **state) {
    const plan p = {.count = 3, .low = 0.2, .meter = true, .rate = 20};
    shot_text text = write(&p), cut = {0};
    const char *row = strstr(text.bytes, "\n") + 1;
    shot_text_add(&cut, "time,flow\n");
    for (double t, pressure, flow; sscanf(row, "%lf,%lf,%lf", &t, &pressure, &flow) == 3;
         row = strchr(row, '\n') + 1)
        if (t > 1.2)
            shot_text_add_format(&cut, "%.3f,%.3f\n", t, flow + 0.15);
    feed got = feed_chain("pulses", cut.bytes, cut.length, 0);
    assert_int_equal(final_count(got.out.bytes, "pulse"), p.count);
    feed_free(&got);
    shot_text_free(&text);
    shot_text_free(&cut);
}

/* A gauge alone, at 3 bar from 3 to 11 s and at 9 bar then, shows the strokes of a pump of 50 Hz,
 * of 0.6 bar either way.  A logger of a little more than twice that rate shows them as they come
 * and go, one of a little less than that rate as a slow beat; both at 0.4 Hz. */
static reading strokes(double t, bool variant) {
    double held = t < 11 ? 3 * fmax(0, fmin(1, t - 2)) : 9 - 6 * exp(11 - t);
    double pressure = t < 30 ? held : held * exp(-(t - 30) / 0.3);
    return (reading){pressure + 0.2 * fmin(pressure, 3) * sin(2 * 3.14159265358979 * 50 * t), 0};
}

static void strokes_of_a_pump_are_no_pulses(void **state) {
    static const double rates[] = {100.4, 50.4, 49.6, 25.2};
    for (size_t i = 0; i < sizeof rates / sizeof *rates; i++) {
        const scene s = {strokes, {0.02, 0}, rates[i], 9};
        feed got = pulses_of(&s, false);
        assert_int_equal(final_count(got.out.bytes, "pulse"), 0);
        feed_free(&got);
    }
}

static void a_direct_shot_has_none(void **state) {
    feed got = pulses(&(plan){.count = 0, .meter = true, .rate = 10});
    assert_int_equal(final_count(got.out.bytes, "pulse"), 0);
    feed_free(&got);
}

/* "No pulses" of a log that could not have shown any would be false comfort. */
static void a_slow_log_says_what_it_cannot_show(void **state) {
    static const char words[] = "cannot be seen";
    feed slow = pulses(&(plan){.count = 0, .meter = true, .rate = 0.5});
    feed quick = pulses(&(plan){.count = 0, .meter = true, .rate = 2});
    assert_non_null(strstr(slow.out.bytes, words));
    assert_null(strstr(quick.out.bytes, words));
    feed_free(&slow);
    feed_free(&quick);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(told_by_flow),
        cmocka_unit_test(told_by_a_meter_that_lags),
        cmocka_unit_test(told_in_spite_of_a_slow_gate),
        cmocka_unit_test(told_by_a_gauge_whose_zero_is_off),
        cmocka_unit_test(told_by_pressure_alone),
        cmocka_unit_test(a_lone_figure_is_no_pulse),
        cmocka_unit_test(told_by_flow_alone),
        cmocka_unit_test(told_by_pressure_where_the_flow_never_stops),
        cmocka_unit_test(a_held_level_is_no_pulse),
        cmocka_unit_test(flow_that_eases_off_behind_a_jet_is_no_pulse),
        cmocka_unit_test(a_controller_that_settles_is_no_pulse),
        cmocka_unit_test(a_puck_that_a_trickle_holds_is_no_gap),
        cmocka_unit_test(a_count_that_is_missing_is_no_gap),
        cmocka_unit_test(a_row_of_pulses_is_whole),
        cmocka_unit_test(the_rest_may_come_last),
        cmocka_unit_test(strokes_of_a_pump_are_no_pulses),
        cmocka_unit_test(a_direct_shot_has_none),
        cmocka_unit_test(a_slow_log_says_what_it_cannot_show),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
