/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what a machine or its logger does in or to a shot makes no other shot of it. */
#include <support/feed.h>

#include <support/mark_text.h>

#include <math.h>
#include <string.h>

#include <shottrace/signal/first_order.h>
#include <shottrace/signal/random.h>

/* Pressure, bar, flow, ml/s, and the weight in the cup, g, at a time; and what its logger does: the
 * time constant of a filter of first order, or the length of a mean, s, where not 0; when it loses
 * its sensors for half a second, and writes zeros. */
typedef struct machine {
    double (*pressure)(double t), (*flow)(double t), (*weight)(double t);
    double tau, mean, lost;
} machine;

/* Of the pressure as the logger shows it at the time. */
static double logged(const machine *one, double *shown, double t, double noise) {
    enum { STEPS = 20 };
    double sum = 0;
    if (one->mean > 0) {
        for (int i = 0; i < STEPS; i++)
            sum += one->pressure(t - one->mean * i / STEPS) / STEPS;
        return sum + noise;
    }
    const double now = one->pressure(t) + noise;
    *shown = one->tau > 0 ? shot_first_order(*shown, now, 0.05, one->tau) : now;
    return *shown;
}

static feed segmented(const machine *one) {
    shot_random random = shot_random_at(16, 0);
    shot_text text = {0};
    double shown = 0, wander = 0;
    shot_text_add_format(&text, "# gauge: puck\n# scale.lag: 0 s\n"
                                "time [s],pressure [bar],flow [ml/s],weight [g]\n");
    for (int i = 0; i < 20 * 36; i++) {
        const double t = 0.05 * i, fresh = 0.02 * shot_random_normal(&random);
        wander = one->mean > 0 ? shot_first_order(wander, fresh, 0.05, one->mean / 2) : fresh;
        const double p = logged(one, &shown, t, wander);
        if (one->lost > 0 && t >= one->lost && t < one->lost + 0.5)
            shot_text_add_format(&text, "%.2f,0,0,0\n", t);
        else
            shot_text_add_format(&text, "%.2f,%.3f,%.2f,%.1f\n", t, p,
                                 one->flow(t) + 0.03 * shot_random_normal(&random),
                                 one->weight(t) + 0.03 * shot_random_normal(&random));
    }
    return feed_log("segment | pulses", &text);
}

/* ---- a shot that others are like: water at 2 s, 9 bar from 5 s, off at 30 s ---- */

static const double off = 30;

static double held(double t) {
    const double up = 9 * fmin(1, fmax(0, (t - 4) / 1));
    return t < off ? up : 9 * exp(-(t - off) / 0.1);
}

static double flow(double t) {
    return t < 2 || t > off ? 0 : t < 4 ? 7 : 2.5;
}

static double weight(double t) {
    return 2 * fmax(0, fmin(t, off) - 12);
}

static void expect(const feed *got, const char *kind, const char *edge, double at) {
    const char *line = last_line(got->out.bytes, kind);
    assert_non_null(line);
    assert_close(mark_number(line, edge), at, 0.15);
}

/* The pump sucks air from 20 s on, in which its meter spins, until somebody stops it at 30 s; the
 * puck lets its pressure go. */
static double pressure_of_dry_tank(double t) {
    return t < 20 ? held(t) : 9 * exp(-(t - 20) / 1.5);
}

static double flow_of_dry_tank(double t) {
    return t < 20 || t > off ? flow(t) : 70 + 30 * sin(40 * t);
}

static double weight_of_dry_tank(double t) {
    return weight(fmin(t, 21));
}

static void a_meter_that_spins_in_air_shows_no_water(void **state) {
    const machine one = {
        .pressure = pressure_of_dry_tank, .flow = flow_of_dry_tank, .weight = weight_of_dry_tank};
    feed got = segmented(&one);
    expect(&got, "preinfusion", "from", 2);
    expect(&got, "preinfusion", "to", 4.95);
    expect(&got, "brew", "to", 20);
    assert_non_null(strstr(got.out.bytes, "more than 25 ml/s"));
    feed_free(&got);
}

/* From the first row to the last: nothing is left of its flow. */
static double only_air(double t) {
    return 70 + 30 * sin(40 * t);
}

static void a_meter_that_never_shows_water_is_no_meter(void **state) {
    const machine one = {.pressure = held, .flow = only_air, .weight = weight};
    feed got = segmented(&one);
    expect(&got, "preinfusion", "to", 4.95);
    expect(&got, "brew", "to", off);
    assert_non_null(strstr(got.out.bytes, "more than 25 ml/s"));
    assert_non_null(strstr(got.out.bytes, "the flow has fewer than five samples"));
    feed_free(&got);
}

/* Down to 6.5 bar at 12 s, when drops just begin; the pump stands for a second until it gets there.
 */
static double eased_pressure(double t) {
    return t < 12 || t > off ? held(t) : fmax(6.5, 9 - 2.5 * (t - 12));
}

static double eased_flow(double t) {
    return t > 12 && t < 13 ? 0 : flow(t);
}

static void a_pump_that_stands_while_it_eases_off_brews_on(void **state) {
    const machine one = {.pressure = eased_pressure, .flow = eased_flow, .weight = weight};
    feed got = segmented(&one);
    expect(&got, "preinfusion", "to", 4.95);
    expect(&got, "brew", "to", off);
    assert_int_equal(final_count(got.out.bytes, "pulse"), 0);
    feed_free(&got);
}

/* A controller that hunts: 1 bar either way in 2 s, and the flow with it, down to a third. */
static double hunted(double t) {
    const double swing = t > 8 && t < off ? sin(3.14159 * (t - 8)) : 0;
    return held(t) + swing;
}

static double hunted_flow(double t) {
    return flow(t) + (t > 8 && t < off ? 0.9 * sin(3.14159 * (t - 7.7)) : 0);
}

static void a_pressure_that_swings_ends_where_it_stops(void **state) {
    const machine one = {.pressure = hunted, .flow = hunted_flow, .weight = weight};
    feed got = segmented(&one);
    expect(&got, "brew", "to", off);
    feed_free(&got);
}

/* Steam is drawn from a boiler whose gauge is the one that is logged; or nothing happens. */
static double boiler(double t) {
    return 1.3 - 0.5 * (1 - exp(-t / 5));
}

static double nothing(double t) {
    return 0;
}

static void where_no_water_ran_there_is_no_shot(void **state) {
    const machine idle[] = {{.pressure = boiler, .flow = nothing, .weight = nothing},
                            {.pressure = nothing, .flow = nothing, .weight = nothing}};
    for (size_t i = 0; i < sizeof idle / sizeof *idle; i++) {
        feed got = segmented(&idle[i]);
        assert_int_equal(final_count(got.out.bytes, "preinfusion"), 0);
        assert_int_equal(final_count(got.out.bytes, "brew"), 0);
        assert_int_equal(final_count(got.out.bytes, "first-drip"), 0);
        assert_non_null(strstr(got.out.bytes, "no water ran"));
        feed_free(&got);
    }
}

/* The flow is what the machine makes of the scale, and nothing comes through. */
static void a_shot_that_chokes_had_water(void **state) {
    const machine one = {.pressure = held, .flow = nothing, .weight = nothing};
    feed got = segmented(&one);
    expect(&got, "preinfusion", "to", 4.95);
    expect(&got, "brew", "to", off);
    assert_null(strstr(got.out.bytes, "no water ran"));
    feed_free(&got);
}

/* While the puck is held, with no drop in the cup, and when the stream runs. */
static void a_logger_that_writes_zeros_shows_no_stop(void **state) {
    for (double lost = 7; lost < 24; lost += 8) {
        const machine one = {.pressure = held, .flow = flow, .weight = weight, .lost = lost};
        feed got = segmented(&one);
        expect(&got, "preinfusion", "to", 4.95);
        expect(&got, "brew", "to", off);
        assert_int_equal(final_count(got.out.bytes, "soak"), 0);
        assert_int_equal(final_count(got.out.bytes, "pulse"), 0);
        assert_non_null(strstr(got.out.bytes, "10 rows say"));
        feed_free(&got);
    }
}

/* A filter of first order shows 95 % of a step after 3 time constants, a mean after its length. */
static void a_logger_that_smooths_is_late_within_the_interval(void **state) {
    static const double ends = 0.289; /* s until 0.5 of 9 bar are left: 0.1 ln 18 */
    static const struct { double tau, mean; } loggers[] = {{0.3, 0}, {0.8, 0}, {0, 1}};
    for (size_t i = 0; i < sizeof loggers / sizeof *loggers; i++) {
        const machine one = {.pressure = held,
                             .flow = flow,
                             .weight = weight,
                             .tau = loggers[i].tau,
                             .mean = loggers[i].mean};
        feed got = segmented(&one);
        const char *full = last_line(got.out.bytes, "preinfusion");
        const char *gone = last_line(got.out.bytes, "release");
        assert_true(mark_number(full, "to.low") <= 4.95);
        assert_true(mark_number(full, "to.high") >= 4.95);
        assert_true(mark_number(gone, "to.low") <= off + ends);
        assert_true(mark_number(gone, "to.high") >= off + ends);
        assert_true(mark_number(gone, "to.low") >= off - 0.5); /* nor does it tell nothing */
        feed_free(&got);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_meter_that_spins_in_air_shows_no_water),
        cmocka_unit_test(a_meter_that_never_shows_water_is_no_meter),
        cmocka_unit_test(a_pump_that_stands_while_it_eases_off_brews_on),
        cmocka_unit_test(a_pressure_that_swings_ends_where_it_stops),
        cmocka_unit_test(where_no_water_ran_there_is_no_shot),
        cmocka_unit_test(a_shot_that_chokes_had_water),
        cmocka_unit_test(a_logger_that_writes_zeros_shows_no_stop),
        cmocka_unit_test(a_logger_that_smooths_is_late_within_the_interval),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
