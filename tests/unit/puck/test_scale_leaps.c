/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what a hand does to the scale is told from what a stream, drops, steps and noise do,
 * and its size with an interval that holds; a scale that hangs is known.  Logs have a known truth:
 * the stream, noise and steps are made here. */
#include <support/check.h>

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/random.h>
#include <shottrace/signal/resolution.h>

#include "puck/scale_leaps.h"

enum { MOST = 4000 };

typedef struct log_of_scale {
    double t[MOST], y[MOST];
    size_t n;
    scale_samples scale;
} log_of_scale;

/* A stream of `rate` g/s from 5 s to 25 s, and what else comes onto the scale. */
typedef struct making {
    double hz, rate, noise, step, drop; /* drop: g a drop; 0: a stream */
    double put, at;                     /* g, s */
    double settles; /* s, time constant of the scale's answer to it; 0: at once */
    double hangs;   /* s, 0: never */
    int seed;
} making;

static double stream(const making *m, double t) {
    const double mass = m->rate * fmin(fmax(t - 5, 0), 20);
    return m->drop > 0 ? m->drop * floor(mass / m->drop) : mass;
}

static void make(const making *m, log_of_scale *log) {
    shot_random random = shot_random_at(16, (uint64_t)m->seed);
    static double work[5 * MOST];
    shot_noise noise;
    log->n = 0;
    for (double t = 0; t < 32; t += 1 / m->hz, log->n++) {
        const double seen = m->hangs > 0 ? fmin(t, m->hangs) : t, since = seen - m->at;
        const double put = since < 0 ? 0 : m->settles > 0 ? 1 - exp(-since / m->settles) : 1;
        const double y = stream(m, seen) + m->put * put + m->noise * shot_random_normal(&random);
        log->t[log->n] = t;
        log->y[log->n] = m->step > 0 ? m->step * round(y / m->step) : y;
        if (m->hangs > 0 && t > m->hangs)
            log->y[log->n] = log->y[log->n - 1];
    }
    assert_true(shot_noise_workspace(log->n) <= sizeof work / sizeof *work);
    const double step = shot_resolution(log->y, log->n);
    assert_int_equal(shot_noise_estimate(log->t, log->y, log->n, step, work, &noise), SHOT_OK);
    scale_samples_take(log->t, log->y, log->n, step, &noise, work, &log->scale);
}

static size_t count(const log_of_scale *log, scale_leap *last) {
    scale_leap leap = {0};
    size_t found = 0;
    while (scale_next_leap(&log->scale, leap.after, &leap)) {
        *last = leap;
        found++;
    }
    return found;
}

static void no_leap_in_a_stream(void **state) {
    static const double rates[] = {0.3, 2, 5, 12};
    static const making scales[] = {{.hz = 2, .noise = 0.3, .step = 1},
                                    {.hz = 2, .noise = 0.02, .step = 0.1},
                                    {.hz = 5, .noise = 0.05, .step = 0.1},
                                    {.hz = 10, .noise = 0.2, .step = 0.01},
                                    {.hz = 10, .noise = 0, .step = 0.5},
                                    {.hz = 100, .noise = 0.1, .step = 0.1},
                                    {.hz = 10, .noise = 0.02, .step = 0.1, .drop = 0.07}};
    static log_of_scale log;
    scale_leap leap;
    for (size_t r = 0; r < sizeof rates / sizeof *rates; r++)
        for (size_t k = 0; k < sizeof scales / sizeof *scales; k++)
            for (int seed = 0; seed < 5; seed++) {
                making m = scales[k];
                m.rate = rates[r];
                m.seed = seed;
                make(&m, &log);
                assert_int_equal(count(&log, &leap), 0);
            }
    (void)state;
}

/* A scale with news once in `rows` rows, also where a stretch of it was lost on the way. */
static void no_leap_where_a_figure_stands(void **state) {
    static log_of_scale log;
    static double work[5 * MOST];
    shot_noise noise;
    scale_leap leap;
    for (size_t rows = 3; rows <= 15; rows += 4) {
        make(&(making){.hz = 10, .rate = 2.5, .noise = 0.05, .step = 0.1}, &log);
        for (size_t i = 0; i < log.n; i++)
            log.y[i] = i % rows == 0 ? log.y[i] : log.y[i - 1];
        assert_int_equal(shot_noise_estimate(log.t, log.y, log.n, 0.1, work, &noise), SHOT_OK);
        scale_samples_take(log.t, log.y, log.n, 0.1, &noise, work, &log.scale);
        assert_int_equal(count(&log, &leap), 0);
    }
    make(&(making){.hz = 10, .rate = 2.5, .noise = 0.05, .step = 0.1}, &log);
    for (size_t i = 150; i < 165; i++)
        log.y[i] = log.y[149];
    assert_int_equal(count(&log, &leap), 0);
    (void)state;
}

static void a_knock_goes_back(void **state) {
    static log_of_scale log;
    scale_leap leap;
    make(&(making){.hz = 10, .rate = 2, .noise = 0.05, .step = 0.1}, &log);
    for (size_t i = 150; i < 155; i++)
        log.y[i] += i % 2 ? 8 : -6;
    log.y[80] = 300;
    assert_int_equal(count(&log, &leap), 0);
    (void)state;
}

/* Leaps of each kind, before the stream, in it, and at rest behind it. */
static void a_leap_is_found_with_its_size(void **state) {
    static const double put[] = {3.5, 5, 14.2, 120, -3, -20, -150},
                        at[] = {2.03, 12.03, 18.73, 28.03};
    static const double hz[] = {5, 10, 50}, settles[] = {0, 0.15};
    static log_of_scale log;
    size_t held[2] = {0}; /* of a scale that shows it at once, and of one that settles */
    for (size_t p = 0; p < 7 * 4 * 3 * 2; p++) {
        const making m = {.hz = hz[p / 28 % 3],
                          .rate = 2,
                          .noise = 0.05,
                          .step = 0.1,
                          .put = put[p % 7],
                          .at = at[p / 7 % 4],
                          .settles = settles[p / 84],
                          .seed = (int)p};
        scale_leap leap;
        make(&m, &log);
        assert_int_equal(count(&log, &leap), 1);
        assert_true(log.t[leap.before] < m.at + 0.1);
        assert_true(log.t[leap.after] < m.at + 2.3);
        assert_close(leap.size, m.put, 0.5); /* half: less than the least that counts */
        held[p / 84] += fabs(leap.size - m.put) <= leap.half;
    }
    print_message("of 84 intervals %zu hold, %zu of a scale that settles\n", held[0], held[1]);
    assert_true(held[0] >= 80); /* 95 % */
    assert_true(held[1] >= 72); /* 86 %: an even end of the settling looks settled */
    (void)state;
}

/* A second cup: the first is taken off, and a second later another stands there. */
static void joined_it_is_what_came(void **state) {
    static log_of_scale log;
    make(&(making){.hz = 10, .rate = 2, .noise = 0.05, .step = 0.1}, &log);
    for (size_t i = 0; i < log.n; i++)
        log.y[i] += log.t[i] > 16.05 ? 35 : log.t[i] > 15.05 ? -90 : 0;
    const size_t n = scale_join(&log.scale, log.t, log.y);
    assert_true(n > 300);
    for (size_t i = 0; i < n; i++)
        assert_close(log.y[i], 2 * fmin(fmax(log.t[i] - 5, 0), 20), 0.6);
    (void)state;
}

static void a_scale_that_hangs(void **state) {
    static log_of_scale log;
    make(&(making){.hz = 10, .rate = 2, .noise = 0.02, .step = 0.1, .hangs = 18}, &log);
    assert_close(log.t[scale_hangs(&log.scale, 25)], 18, 0.3);
    make(&(making){.hz = 10, .rate = 2, .noise = 0.02, .step = 0.1}, &log);
    assert_int_equal(scale_hangs(&log.scale, 25), log.n);
    make(&(making){.hz = 10, .rate = 0.1, .noise = 0.02, .step = 0.1}, &log);
    assert_int_equal(scale_hangs(&log.scale, 25), log.n);
    make(&(making){.hz = 5, .rate = 5, .noise = 0.05, .step = 1}, &log);
    assert_int_equal(scale_hangs(&log.scale, 25), log.n);
    assert_int_equal(scale_hangs(&log.scale, 4), log.n);
    (void)state;
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_leap_in_a_stream),    cmocka_unit_test(no_leap_where_a_figure_stands),
        cmocka_unit_test(a_knock_goes_back),      cmocka_unit_test(a_leap_is_found_with_its_size),
        cmocka_unit_test(joined_it_is_what_came), cmocka_unit_test(a_scale_that_hangs),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
