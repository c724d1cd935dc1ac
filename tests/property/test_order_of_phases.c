/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: no phase ends before it starts, and none begins before the one that it follows, however
 * odd the log: pressure, flow and weight that know nothing of each other. */
#include <support/feed.h>

#include <support/mark_text.h>

#include <math.h>

#include <shottrace/signal/random.h>

enum { LOGS = 300, CORNERS = 8, LENGTH = 30 };

/* A line of a few corners at random times; a corner may be a step, and half of them are nothing. */
typedef struct odd_course {
    double t[CORNERS], y[CORNERS];
} odd_course;

static odd_course odd(shot_random *random, double most) {
    odd_course out;
    double t = 0;
    for (int k = 0; k < CORNERS; k++) {
        out.t[k] = t;
        t += shot_random_uniform(random) * (shot_random_uniform(random) < 0.4 ? 0.3 : 8);
        out.y[k] = shot_random_uniform(random) < 0.5 ? 0 : most * shot_random_uniform(random);
    }
    return out;
}

static double odd_at(const odd_course *line, double t) {
    int k = 1;
    while (k < CORNERS && line->t[k] <= t)
        k++;
    if (k == CORNERS)
        return line->y[CORNERS - 1];
    const double share = (t - line->t[k - 1]) / (line->t[k] - line->t[k - 1]);
    return line->y[k - 1] + share * (line->y[k] - line->y[k - 1]);
}

static feed run(uint64_t log) {
    static const char *const heads[] = {"", "# gauge: pump\n", "# gauge: puck\n"};
    shot_random random = shot_random_at(77, log);
    const odd_course pressure = odd(&random, 10), flow = odd(&random, 8), stream = odd(&random, 4);
    const double rate = 2 + floor(18 * shot_random_uniform(&random));
    double grams = 0;
    shot_text text = {0};
    shot_text_add(&text, heads[log % 3]);
    shot_text_add(&text, "time,pressure,flow,weight\n");
    for (int i = 0; i < LENGTH * rate; i++) {
        const double t = i / rate;
        grams += odd_at(&stream, t) / rate;
        shot_text_add_format(&text, "%.3f,%.2f,%.2f,%.2f\n", t,
                             odd_at(&pressure, t) + 0.03 * shot_random_normal(&random),
                             odd_at(&flow, t) + 0.03 * shot_random_normal(&random), grams);
    }
    return feed_log("segment", &text);
}

static const char *const kinds[] = {"preinfusion", "fill", "soak", "ramp", "brew", "release"};

/* Those told while the shot runs, too. */
static void expect_no_end_before_start(const char *trace, const char *kind, uint64_t log) {
    const char *line;
    for (int i = 0; (line = mark_line(trace, kind, i)) != NULL; i++) {
        const double from = mark_number(line, "from"), to = mark_number(line, "to");
        if (to < from)
            fail_msg("log %d: %s from %g to %g", (int)log, kind, from, to);
    }
}

static void expect_in_order(const char *trace, uint64_t log) {
    double latest = -INFINITY;
    for (size_t k = 0; k < sizeof kinds / sizeof *kinds; k++) {
        expect_no_end_before_start(trace, kinds[k], log);
        const char *line = final_line(trace, kinds[k], 0);
        const double from = line != NULL ? mark_number(line, "from") : latest;
        if (from < latest)
            fail_msg("log %d: %s from %g, after one from %g", (int)log, kinds[k], from, latest);
        latest = from;
    }
}

static void no_phase_ends_before_it_starts(void **state) {
    for (uint64_t log = 0; log < LOGS; log++) {
        feed got = run(log);
        assert_int_equal(got.status, SHOT_OK);
        expect_in_order(got.out.bytes, log);
        feed_free(&got);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(no_phase_ends_before_it_starts)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
