/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the Hampel identifier finds the spikes of the worked vector, spares steps and
 * flickering last digits, and works on uneven times with holes. */
#include <support/check.h>

#include <string.h>

#include <shottrace/signal/hampel.h>
#include <shottrace/signal/random.h>

enum { MOST = 64 };

static void judge(shot_hampel_rule rule, const double *t, const double *y, size_t n,
                  shot_hampel_at *out) {
    shot_hampel *hampel;
    size_t count = 0;
    assert_int_equal(shot_hampel_new(&rule, &hampel), SHOT_OK);
    for (size_t i = 0; i <= n; i++) {
        if (i < n)
            assert_int_equal(shot_hampel_push(hampel, t[i], y[i]), SHOT_OK);
        else
            shot_hampel_finish(hampel);
        for (bool ready = true; ready; count += ready)
            assert_int_equal(shot_hampel_next(hampel, out + count, &ready), SHOT_OK);
    }
    assert_int_equal(count, n);
    shot_hampel_free(hampel);
}

static void worked_vector(void **state) {
    const double y[] = {2.1, 2.3, 2.2, 9.7, 2.4, 2.6, 2.5, 2.5, -4, 2.7, 2.8, 3.1, 3, 3.2};
    const double replaced[2][2] = {{2.4, 2.5}, {2.4, 2.6}}; /* half-width 2 and 3 */
    double t[14];
    shot_hampel_at at[15];
    for (size_t i = 0; i < 14; i++)
        t[i] = 0.1 * (double)i;
    for (int half = 2; half <= 3; half++) {
        judge((shot_hampel_rule){{half, half, true}, 3, 0}, t, y, 14, at);
        for (size_t i = 0; i < 14; i++)
            assert_true(at[i].spike == (i == 3 || i == 8));
        assert_int_equal(at[0].n, half + 1);
        assert_int_equal(at[3].n, 2 * half + 1);
        assert_close(at[3].median, replaced[half - 2][0], 1e-12);
        assert_close(at[8].median, replaced[half - 2][1], 1e-12);
    }
}

/* A plateau read to 0.01: without a floor any flicker is a spike, with it none; a real spike is. */
static void floor_spares_the_last_digit(void **state) {
    double t[20], y[20];
    shot_hampel_at at[21];
    for (size_t i = 0; i < 20; i++) {
        t[i] = 0.1 * (double)i;
        y[i] = 9;
    }
    y[10] = 9.01;
    y[15] = 9.5;
    judge((shot_hampel_rule){{3, 3, true}, 3, 0}, t, y, 20, at);
    assert_true(at[10].spike && at[15].spike && !at[9].spike && at[9].scale == 0);
    judge((shot_hampel_rule){{3, 3, true}, 3, 0.005}, t, y, 20, at);
    assert_true(!at[10].spike && at[15].spike);
    assert_true(at[10].scale == 0.005);
}

/* A step is no spike; nor is a missing sample; holes and uneven times do not hide one. */
static void steps_and_holes(void **state) {
    const double t[] = {0, 0.11, 0.2, 0.33, 0.4, 0.52, 0.6, 0.7, 0.83, 0.9, 1.0};
    const double y[] = {1, 1.01, NAN, 1.02, 7, 1, NAN, 1.01, 0.99, 1.02, 1};
    shot_hampel_at at[12];
    judge((shot_hampel_rule){{0.35, 0.35, false}, 3, 0.01}, t, y, 11, at);
    for (size_t i = 0; i < 11; i++)
        assert_true(at[i].spike == (i == 4));
    double step[11];
    for (size_t i = 0; i < 11; i++)
        step[i] = i < 5 ? 1 : 9;
    judge((shot_hampel_rule){{0.35, 0.35, false}, 3, 0.01}, t, step, 11, at);
    for (size_t i = 0; i < 11; i++)
        assert_false(at[i].spike);
}

static void bad_rules_are_refused(void **state) {
    shot_hampel *hampel;
    const shot_hampel_rule bad[] = {{{1, 1, true}, -1, 0},
                                    {{1, 1, true}, 3, -1},
                                    {{-1, 1, true}, 3, 0},
                                    {{1, 1, true}, NAN, 0}};
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(shot_hampel_new(&bad[i], &hampel), SHOT_ERR_RANGE);
        assert_null(hampel);
    }
}

/* White noise in few or many digits, with steps, spikes, stretches of one value and holes. */
static void make_samples(shot_random *random, double *t, double *y, size_t n) {
    const double step = shot_random_chance(random, 0.5) ? 0.1 : 1e-6;
    double now = 0, level = 0;
    for (size_t i = 0; i < n; i++) {
        now += shot_random_between(random, 0.05, 0.15);
        level = shot_random_chance(random, 0.03) ? shot_random_between(random, -5, 5) : level;
        const double scatter = shot_random_chance(random, 0.03) ? 4 : 0.1;
        t[i] = now;
        y[i] = step * round((level + scatter * shot_random_normal(random)) / step);
        if (i > 0 && shot_random_chance(random, 0.2))
            y[i] = y[i - 1];
        if (shot_random_chance(random, 0.01))
            y[i] = NAN;
    }
}

/* Take what `many` has ready, some of it passed over, and hold it against what `one` says of each
 * sample; how many were passed over. */
static size_t take_ready(shot_hampel *one, shot_hampel *many, shot_random *random) {
    shot_hampel_at single, at;
    shot_hampel_passed passed;
    size_t passed_over = 0;
    for (bool ready = true, came; ready;) {
        const size_t most = shot_random_chance(random, 0.5) ? SIZE_MAX : 3;
        passed.count = 0;
        if (shot_random_chance(random, 0.8))
            assert_int_equal(shot_hampel_pass(many, most, &passed), SHOT_OK);
        assert_true(passed.count <= most);
        passed_over += passed.count;
        for (size_t k = 0; k < passed.count; k++) {
            assert_int_equal(shot_hampel_next(one, &single, &came), SHOT_OK);
            assert_true(came && !single.spike);
        }
        assert_true(passed.count == 0 || passed.t == single.t);
        assert_int_equal(shot_hampel_next(many, &at, &ready), SHOT_OK);
        if (!ready)
            break;
        assert_int_equal(shot_hampel_next(one, &single, &came), SHOT_OK);
        assert_true(came && single.t == at.t && single.spike == at.spike);
        assert_true(single.n == 0 || /* the sign of a zero, too */
                    (memcmp(&single.median, &at.median, sizeof at.median) == 0 &&
                     single.scale == at.scale));
    }
    return passed_over;
}

/* What is passed over is what would have come out one by one, and never a spike. */
static void samples_passed_are_no_spikes(void **state) {
    enum { N = 600 };
    size_t passed_over = 0;
    for (uint64_t seed = 0; seed < 200; seed++) {
        shot_random random = shot_random_at(82, seed);
        double t[N], y[N];
        const double half = (double)shot_random_below(&random, 18);
        const bool samples = shot_random_chance(&random, 0.5);
        const shot_hampel_rule rule = {{samples ? half : 0.1 * half, half, samples},
                                       shot_random_below(&random, 2) ? 3 : 0.5,
                                       0};
        shot_hampel *one, *many;
        shot_hampel_at single;
        make_samples(&random, t, y, N);
        assert_int_equal(shot_hampel_new(&rule, &one), SHOT_OK);
        assert_int_equal(shot_hampel_new(&rule, &many), SHOT_OK);
        for (size_t i = 0; i < N; i++)
            assert_int_equal(shot_hampel_push(one, t[i], y[i]), SHOT_OK);
        shot_hampel_finish(one);
        for (size_t i = 0, part; i < N; i += part) {
            part = 1 + shot_random_below(&random, 200);
            part = part < N - i ? part : N - i;
            assert_int_equal(shot_hampel_push_block(many, t + i, y + i, part), SHOT_OK);
            if (i + part == N)
                shot_hampel_finish(many);
            passed_over += take_ready(one, many, &random);
        }
        assert_int_equal(shot_hampel_next(one, &single, &(bool){false}), SHOT_OK);
        shot_hampel_free(one);
        shot_hampel_free(many);
    }
    assert_in_range(passed_over, 200 * N / 2, 200 * N);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(worked_vector),
        cmocka_unit_test(floor_spares_the_last_digit),
        cmocka_unit_test(steps_and_holes),
        cmocka_unit_test(bad_rules_are_refused),
        cmocka_unit_test(samples_passed_are_no_spikes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
