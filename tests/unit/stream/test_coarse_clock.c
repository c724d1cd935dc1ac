/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: rows that come faster than their clock counts get their places in its seconds, at any
 * rate, and a clock that is as fine as its rows is not touched. */
#include <support/check.h>

#include <stdio.h>

#include "stream/coarse_clock.h"

enum { HELD = 16, MOST = 4000 };

typedef struct log_of_rows {
    double true_time[MOST], reading[MOST];
    bool differs[MOST];
    size_t count;
} log_of_rows;

static void make(log_of_rows *log, double rate, double start, double length) {
    log->count = 0;
    for (double t = start; t < start + length && log->count < MOST; t += 1 / rate) {
        log->true_time[log->count] = t;
        log->reading[log->count] = floor(t);
        log->differs[log->count++] = true;
    }
}

/* The largest error, in steps of the rate. */
static double worst_of(shot_coarse_clock *clock, const log_of_rows *log, double rate) {
    double worst = 0, last = -INFINITY;
    for (size_t i = 0; i < log->count; i++) {
        const double time = shot_coarse_clock_time(clock, log->reading[i]);
        assert_true(time > last);
        assert_true(floor(time) == log->reading[i]);
        last = time;
        worst = fmax(worst, fabs(time - log->true_time[i]) * rate);
    }
    return worst;
}

/* What the first rows of such a log tell of its clock. */
static void settle(log_of_rows *log, double rate, double start, shot_coarse_clock *clock) {
    make(log, rate, start, 40);
    shot_coarse_clock_settle(clock, log->reading, log->differs, HELD);
}

/* The rate is not known at first where no second is whole in the first rows, so that the first two
 * seconds are looked at apart. */
static void rows_find_their_places(void **state) {
    static const double rates[] = {2, 2.5, 3, 4, 4.98, 5, 7, 8, 10, 12.5, 20};
    log_of_rows *log = test_malloc(sizeof *log);
    for (size_t r = 0; r < sizeof rates / sizeof *rates; r++)
        for (double start = 3; start < 4; start += 0.07) {
            shot_coarse_clock clock;
            settle(log, rates[r], start, &clock);
            if (rates[r] >= HELD) /* the first rows may all bear one reading */
                continue;
            assert_true(clock.rows > 0);
            worst_of(&clock, log, rates[r]);
            shot_coarse_clock_begin(&clock);
            assert_true(worst_of(&clock, log, rates[r]) < rates[r]);
        }
    test_free(log);
}

/* A rate out of a few seconds is known to a row in each; one row and a half is what that makes. */
static void after_the_first_seconds_rows_are_near_their_places(void **state) {
    static const double rates[] = {3, 4, 4.98, 5, 7.3, 8, 10, 12.5};
    log_of_rows *log = test_malloc(sizeof *log);
    for (size_t r = 0; r < sizeof rates / sizeof *rates; r++)
        for (double start = 3; start < 4; start += 0.07) {
            shot_coarse_clock clock;
            settle(log, rates[r], start, &clock);
            for (size_t i = 0; i < log->count; i++) {
                const double time = shot_coarse_clock_time(&clock, log->reading[i]);
                if (log->true_time[i] > start + 3)
                    assert_true(fabs(time - log->true_time[i]) * rates[r] < 1.5);
            }
        }
    test_free(log);
}

/* Rows of a second were lost, then two whole seconds: what follows keeps to its readings. */
static void a_hole_is_left_behind(void **state) {
    log_of_rows *log = test_malloc(sizeof *log);
    shot_coarse_clock clock;
    make(log, 5, 3.03, 30);
    shot_coarse_clock_settle(&clock, log->reading, log->differs, HELD);
    for (size_t i = 0; i < log->count; i++) {
        if ((i >= 52 && i < 55) || (i >= 80 && i < 93))
            continue;
        const double time = shot_coarse_clock_time(&clock, log->reading[i]);
        assert_true(floor(time) == log->reading[i]);
        if (i >= 60 && i < 80)
            assert_true(fabs(time - log->true_time[i]) < 0.2);
        if (i >= 98)
            assert_true(fabs(time - log->true_time[i]) < 0.2);
    }
    test_free(log);
}

static void what_is_no_coarse_clock_stays(void **state) {
    static const double fine[] = {0, 0.2, 0.4, 0.6, 0.8, 1}, single[] = {0, 1, 2, 3, 4, 5},
                        falls[] = {3, 3, 3, 2, 2, 2}, twice[] = {0, 0, 1, 1, 2, 2};
    static const bool all[6] = {true, true, true, true, true, true}, none[6] = {false};
    const double *const logs[] = {fine, single, falls};
    shot_coarse_clock clock;
    for (size_t i = 0; i < 3; i++) {
        shot_coarse_clock_settle(&clock, logs[i], all, 6);
        assert_true(clock.rows == 0);
        assert_true(shot_coarse_clock_time(&clock, 7.25) == 7.25);
    }
    shot_coarse_clock_settle(&clock, twice, none, 6); /* each row said twice */
    assert_true(clock.rows == 0);
    shot_coarse_clock_settle(&clock, twice, all, 6); /* two rows a second */
    assert_true(clock.rows == 2);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rows_find_their_places),
        cmocka_unit_test(after_the_first_seconds_rows_are_near_their_places),
        cmocka_unit_test(a_hole_is_left_behind),
        cmocka_unit_test(what_is_no_coarse_clock_stays),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
