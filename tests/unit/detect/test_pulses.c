/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: pulses before the main rise are counted, timed and judged by the pressure between them,
 * by flow or by pressure alone; a shot without any has none. */
#include <support/feed.h>

#include <support/mark_text.h>

#include <shottrace/signal/random.h>

/* `count` pulses of 1 s every 3 s from 1 s on, then the main run for 20 s.  The pressure rises and
 * falls exponentially, falling to about `low` bar. */
typedef struct plan {
    int count;
    double low;
    bool meter;
    double rate;
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
    double pressure = 0, last = 0;
    shot_text_add_format(&text, "time,pressure%s\n", p->meter ? ",flow" : "");
    for (int i = 0; i <= (24 + 3 * p->count) * p->rate; i++) {
        double t = i / p->rate;
        for (; last < t; last += 0.001) { /* 4 bar at most in a pulse, 9 in the main run */
            bool main_run = last >= 1 + 3 * p->count;
            double goal = !is_on(p, last) ? (last > 1 && !main_run ? p->low : 0) : main_run ? 9 : 4;
            pressure += 0.001 / 0.4 * (goal - pressure);
        }
        double flow = is_on(p, t) ? (t > 1 + 3 * p->count + 2 ? 2 : 6) : 0;
        shot_text_add_number(&text, t);
        shot_text_add_format(&text, ",%.2f", pressure + 0.02 * shot_random_normal(&random));
        if (p->meter)
            shot_text_add_format(&text, ",%.2f", flow + 0.05 * shot_random_normal(&random));
        shot_text_add(&text, "\n");
    }
    return text;
}

static feed pulses(const plan *p) {
    shot_text text = write(p);
    feed got = feed_chain("pulses", text.bytes, text.length, 0);
    assert_int_equal(got.status, SHOT_OK);
    shot_text_free(&text);
    return got;
}

/* Edges of the flow lie between two samples: half a sampling interval, and a little for the fit. */
static void expect_pulses(const plan *p, double tolerance) {
    feed got = pulses(p);
    assert_int_equal(mark_count(got.out.bytes, "pulse"), p->count);
    for (int i = 0; i < p->count; i++) {
        const char *line = mark_line(got.out.bytes, "pulse", i);
        assert_close(mark_number(line, "from"), 1 + 3 * i, tolerance);
        assert_close(mark_number(line, "to"), 2 + 3 * i, tolerance);
        assert_close(mark_number(line, "value"), p->low, 0.15); /* exp(-2/0.4) of 3 bar is left */
        assert_non_null(strstr(line, p->low < 0.5 ? "fell under 0.5 bar" : "stayed over 0.5 bar"));
    }
    feed_free(&got);
}

static void told_by_flow(void **state) {
    expect_pulses(&(plan){.count = 4, .low = 0.2, .meter = true, .rate = 20}, 0.05);
    expect_pulses(&(plan){.count = 2, .low = 1.1, .meter = true, .rate = 10}, 0.08);
}

/* A pressure turns a corner at each edge; the first has none where the basket is not full. */
static void told_by_pressure_alone(void **state) {
    expect_pulses(&(plan){.count = 3, .low = 0.2, .rate = 20}, 0.12);
}

static void a_direct_shot_has_none(void **state) {
    feed got = pulses(&(plan){.count = 0, .meter = true, .rate = 10});
    assert_int_equal(mark_count(got.out.bytes, "pulse"), 0);
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(told_by_flow),
        cmocka_unit_test(told_by_pressure_alone),
        cmocka_unit_test(a_direct_shot_has_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
