/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what is no shot, or a broken one, yields no fact that sounds sure.  A machine of a few
 * lines makes the logs: a pump that aims at a pressure, a headspace that must fill, and what stands
 * in the basket.  It shares nothing with libtrace/puck. */
#include <support/check.h>
#include <support/feed.h>
#include <support/mark_text.h>
#include <support/turns.h>

#include <shottrace/signal/random.h>

enum { MOST_RUNS = 8, MOST_KINDS = 6, SEEDS = 3 };

typedef enum basket { EMPTY, BLIND, PUCK } basket;

typedef struct run {
    double from, to, aim; /* s, s, bar */
} run;

typedef struct scene {
    const char *name;
    basket basket;
    double swing; /* of the aim, bar, twice in 4 s */
    double length;
    run runs[MOST_RUNS];
    const char *never[MOST_KINDS]; /* kinds of which not even a provisional mark comes */
} scene;

static const scene scenes[] = {
    {"nothing", PUCK, 0, 60, {{0, 0, 0}}, {"brew", "preinfusion", "surge", "first-drip", "pulse"}},
    {"an empty basket", EMPTY, 0, 28, {{2, 22, 9}}, {"brew", "soak", "surge", "pulse"}},
    {"a blind basket", BLIND, 0, 18, {{2, 12, 9}}, {"first-drip", "surge", "soak"}},
    {"a cleaning",
     BLIND,
     0,
     60,
     {{2, 7, 9}, {12, 17, 9}, {22, 27, 9}, {32, 37, 9}, {42, 47, 9}},
     {"first-drip", "surge"}},
    {"a start that was given up", PUCK, 0, 14, {{2, 5, 9}}, {"first-drip", "surge"}},
    {"a pump that fails for 2 s", PUCK, 0, 40, {{2, 16, 9}, {18, 32, 9}}, {"pulse"}},
    {"a controller that swings", PUCK, 1, 36, {{2, 30, 9}}, {"pulse"}},
};

typedef struct state {
    double held, wet, cup; /* water over the puck and in it, ml; in the cup, g */
    double flow;           /* of the pump, ml/s */
} state;

static const double headspace = 8, compliance = 0.25, dry = 20, step = 0.002;

static double pressure_of(const state *s) {
    return s->held > headspace ? (s->held - headspace) / compliance : 0;
}

static double aim_at(const scene *what, double t) {
    for (size_t i = 0; i < MOST_RUNS; i++)
        if (t >= what->runs[i].from && t < what->runs[i].to)
            return what->runs[i].aim + what->swing * sin(3.14159265358979 * t);
    return 0;
}

/* What leaves the group through the basket, ml/s: a bed wets as a front goes down (Green & Ampt
 * 1911, J. Agric. Sci. 4:1-24), then lets through what its pressure drives. */
static double through(const scene *what, const state *s, double conductance) {
    const double p = pressure_of(s);
    if (what->basket == BLIND || s->held <= 0)
        return 0;
    if (what->basket == EMPTY)
        return fmin(1.2 * s->held, 12);
    return s->wet < dry ? 1.3 * conductance * (p + 0.5) / (0.12 + s->wet / dry) : conductance * p;
}

static void advance(const scene *what, double t, double conductance, state *s) {
    const double p = pressure_of(s), aim = aim_at(what, t);
    const double wanted = aim > 0 ? fmax(0, fmin(6 * (aim - p) + 2, 8)) : 0;
    s->flow += (wanted - s->flow) * step / 0.12;
    const double out = fmin(through(what, s, conductance), s->held / step);
    const double drained = aim > 0 ? 0 : 1.2 * sqrt(p); /* through the valve that opens */
    if (what->basket == PUCK && s->wet < dry)
        s->wet += out * step;
    else
        s->cup += out * step;
    s->held = fmax(0, s->held + (s->flow - out - drained) * step);
}

static double rounded(double value, double to) {
    return to * rint(value / to);
}

static shot_text log_of(const scene *what, double rate, uint64_t seed) {
    shot_text text = {0};
    shot_random random = shot_random_at(seed, 31);
    state s = {0};
    const double conductance = shot_random_between(&random, 0.15, 0.24);
    double next = 0, weight = 0;
    shot_text_add(&text, "time [s],pressure [bar],flow [ml/s],weight [g]\n");
    for (double t = 0; t < what->length; t += step) {
        advance(what, t, conductance, &s);
        weight += (s.cup - weight) * step / 0.3; /* a scale that smooths */
        if (t < next)
            continue;
        const double p = pressure_of(&s) + 0.025 * shot_random_normal(&random);
        const double q = s.flow + 0.06 * fmin(1, 0.15 + s.flow) * shot_random_normal(&random);
        shot_text_add_format(&text, "%.3f,%.2f,%.2f,%.1f\n", t, rounded(p, 0.01), rounded(q, 0.01),
                             rounded(weight + 0.03 * shot_random_normal(&random), 0.1));
        next = t + (1 + 0.1 * (shot_random_uniform(&random) - 0.5)) / rate;
    }
    return text;
}

static void check_scene(const scene *what, double rate, uint64_t seed) {
    shot_text text = log_of(what, rate, seed);
    feed got = feed_log("clean | segment | surges | pulses", &text);
    for (size_t k = 0; k < MOST_KINDS && what->never[k] != NULL; k++)
        if (mark_count(got.out.bytes, what->never[k]) > 0)
            fail_msg("%s at %g Hz, seed %d: %.120s", what->name, rate, (int)seed,
                     last_line(got.out.bytes, what->never[k]));
    if (final_count(got.out.bytes, "surge") > 0)
        fail_msg("%s at %g Hz, seed %d: a surge", what->name, rate, (int)seed);
    feed_free(&got);
}

static void no_fact_of_what_is_no_shot(void **unused) {
    static const double rates[] = {10, 20};
    (void)unused;
    for (size_t i = 0; i < sizeof scenes / sizeof *scenes; i++)
        for (size_t r = 0; r < sizeof rates / sizeof *rates; r++)
            for (uint64_t seed = 0; seed < turns(SEEDS); seed++)
                check_scene(&scenes[i], rates[r], seed);
}

/* The machine makes a shot where it may, so that the scenes above could be told. */
static void a_shot_of_this_machine_is_told(void **unused) {
    static const scene shot = {"a shot", PUCK, 0, 36, {{2, 30, 9}}, {NULL}};
    (void)unused;
    shot_text text = log_of(&shot, 20, 1);
    feed got = feed_log("clean | segment | surges | pulses", &text);
    assert_int_equal(final_count(got.out.bytes, "brew"), 1);
    assert_int_equal(final_count(got.out.bytes, "first-drip"), 1);
    assert_close(mark_number(final_line(got.out.bytes, "preinfusion", 0), "from"), 2, 0.15);
    assert_close(mark_number(final_line(got.out.bytes, "brew", 0), "to"), 30, 0.2);
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_fact_of_what_is_no_shot),
        cmocka_unit_test(a_shot_of_this_machine_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
