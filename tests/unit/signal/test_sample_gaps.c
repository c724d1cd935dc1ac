/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a gap is what the median of the intervals around it makes one, whatever shortens the
 * way to that verdict; gaps come in order, each once. */
#include <support/check.h>

#include <shottrace/signal/median.h>
#include <shottrace/signal/random.h>
#include <shottrace/signal/sample_gaps.h>

#include "signal/intervals.h"

enum { N = 400, BEFORE = 30, AFTER = 8 };

static size_t take(shot_sample_gaps *gaps, shot_gap *out) {
    size_t count = 0;
    for (bool ready = true; ready; count += ready)
        assert_int_equal(shot_sample_gaps_next(gaps, out + count, &ready), SHOT_OK);
    return count;
}

/* Times with jitter, changes of rate, repeats and holes. */
static void make_times(shot_random *random, double *t) {
    double now = 0, step = 0.1;
    for (size_t i = 0; i < N; i++) {
        t[i] = now;
        if (shot_random_chance(random, 0.02))
            step = shot_random_between(random, 0.01, 1);
        now += shot_random_chance(random, 0.05)   ? shot_random_between(random, 0, 20 * step)
               : shot_random_chance(random, 0.02) ? 0
                                                  : step * shot_random_between(random, 0.9, 1.1);
    }
}

static double usual(const double *t, size_t i, size_t *n) {
    double around[BEFORE + 1 + AFTER];
    *n = 0;
    for (size_t k = i < BEFORE ? 0 : i - BEFORE; k <= i + AFTER && k + 1 < N; k++)
        around[(*n)++] = t[k + 1] - t[k];
    return shot_median(around, *n);
}

static void check_gaps(shot_gap_rule rule, const double *t, const shot_gap *found, size_t count) {
    size_t next = 0;
    for (size_t i = 0; i + 1 < N; i++) {
        size_t n;
        const double spacing = usual(t, i, &n);
        const bool gap = rule.length > 0 ? t[i + 1] - t[i] > rule.length
                                         : n >= 4 && t[i + 1] - t[i] > rule.factor * spacing;
        if (!gap)
            continue;
        assert_true(next < count);
        assert_true(found[next].from == t[i] && found[next].to == t[i + 1]);
        assert_true(found[next++].spacing == spacing);
    }
    assert_int_equal(next, count);
}

static void gaps_are_those_of_the_plain_median(void **state) {
    const shot_gap_rule rules[] = {{.factor = 5}, {.factor = 0.5}, {.length = 0.4}};
    shot_random random = shot_random_at(31, 1);
    double t[N];
    shot_gap found[N + 1];
    size_t passed = 0;
    for (size_t trial = 0; trial < 60; trial++) {
        shot_sample_gaps *gaps;
        assert_int_equal(shot_sample_gaps_new(rules[trial % 3], &gaps), SHOT_OK);
        make_times(&random, t);
        for (int round = 0; round < 2; round++) { /* the second time many at once where they may */
            size_t count = 0;
            for (size_t i = 0; i < N; i++) {
                const size_t some = 1 + shot_random_below(&random, i + 100 < N ? 100 : N - i);
                const shot_intervals between = intervals_between(t + i, some);
                if (round == 1 && shot_sample_gaps_none(gaps, t + i, some, &between)) {
                    shot_sample_gaps_pass(gaps, t + i, some, &between);
                    i += some - 1;
                    passed += some;
                    continue;
                }
                assert_int_equal(shot_sample_gaps_push(gaps, t[i]), SHOT_OK);
                count += take(gaps, found + count);
            }
            shot_sample_gaps_finish(gaps);
            count += take(gaps, found + count);
            check_gaps(rules[trial % 3], t, found, count);
            shot_sample_gaps_reset(gaps);
        }
        shot_sample_gaps_free(gaps);
    }
    assert_true(passed > 1000);
}

static void wrong_calls_are_refused(void **state) {
    shot_sample_gaps *gaps;
    assert_int_equal(shot_sample_gaps_new((shot_gap_rule){0}, &gaps), SHOT_ERR_RANGE);
    assert_null(gaps);
    assert_int_equal(shot_sample_gaps_new((shot_gap_rule){.factor = 5}, &gaps), SHOT_OK);
    assert_int_equal(shot_sample_gaps_push(gaps, 1), SHOT_OK);
    assert_int_equal(shot_sample_gaps_push(gaps, 0.5), SHOT_ERR_DATA);
    assert_int_equal(shot_sample_gaps_push(gaps, NAN), SHOT_ERR_DATA);
    shot_status status = SHOT_OK;
    for (int i = 2; i < 40 && status == SHOT_OK; i++)
        status = shot_sample_gaps_push(gaps, i);
    assert_int_equal(status, SHOT_ERR_RANGE);
    shot_sample_gaps_free(gaps);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(gaps_are_those_of_the_plain_median),
        cmocka_unit_test(wrong_calls_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
