/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what is said of runs of one value is a bound that honest sensors keep: the probability
 * to stay, what little noise leaves open, and the motion that a stuck sensor misses. */
#include <support/check.h>

#include <math.h>

#include <shottrace/signal/random.h>
#include <shottrace/signal/value_runs.h>

static shot_value_runs *new_runs(void) {
    shot_value_runs *runs;
    assert_int_equal(shot_value_runs_new(&runs), SHOT_OK);
    return runs;
}

/* Noise of that sd, in steps of 0.1, about a level in the middle of a step: how often neighbours
 * show the same figure. */
static double push_noise(shot_value_runs *runs, double sd, size_t n, uint64_t seed) {
    shot_random random = shot_random_at(seed, 1);
    double last = NAN, same = 0;
    for (size_t i = 0; i < n; i++) {
        const double y = 0.1 * round((5 + sd * shot_random_normal(&random)) / 0.1);
        same += y == last;
        last = y;
        shot_value_runs_push(runs, 0.1 * (double)i, y);
    }
    return same / (double)n;
}

/* At every noise the bound lies above what is seen, less four standard errors of that count (1 in
 * 30,000); from noise of 0.8 steps on it lies near enough to be of use, below 0.75. */
static void the_probability_to_stay_is_a_bound(void **state) {
    static const double steps[] = {0.05, 0.2, 0.3, 0.5, 0.8, 1, 2, 5, 20};
    enum { N = 2000 };
    for (size_t k = 0; k < sizeof steps / sizeof *steps; k++) {
        shot_value_runs *runs = new_runs();
        const double seen = push_noise(runs, 0.1 * steps[k], N, k + 1);
        const double stay = shot_value_runs_stay(runs);
        print_message("noise of %g steps: seen %.4f, bound %.4f\n", steps[k], seen, stay);
        assert_true(stay >= seen - 4 * sqrt(seen * (1 - seen) / N));
        assert_true(stay <= 1 && (steps[k] < 0.8 || stay < 0.75));
        shot_value_runs_free(runs);
    }
}

/* Two neighbouring figures in turn are a level between them, or a pulse more and a pulse less; they
 * say nothing about noise. */
static void flicker_between_two_steps_says_nothing(void **state) {
    shot_value_runs *runs = new_runs();
    shot_random random = shot_random_at(3, 1);
    for (int i = 0; i < 1000; i++)
        shot_value_runs_push(runs, i * (0.1 + (i % 3) * 1e-5),
                             shot_random_chance(&random, 0.5) ? 2 : 2.5);
    assert_close(shot_value_runs_stay(runs), 1, 0);
    shot_value_runs_free(runs);
}

/* Noise of a step, 1000 samples, and once 40 samples of one value: chance makes no such run. The
 * longest run of the noise itself is expected about once or more. */
static void a_run_beyond_chance_is_told_from_one_of_chance(void **state) {
    shot_value_runs *runs = new_runs();
    push_noise(runs, 0.1, 1000, 9);
    for (int i = 0; i < 40; i++)
        shot_value_runs_push(runs, 100 + 0.1 * i, 5.3);
    shot_value_runs_finish(runs);
    double low, high;
    const size_t last = shot_value_runs_count(runs) - 1;
    assert_close(shot_value_runs_at(runs, last)->value, 5.3, 0);
    assert_int_equal(shot_value_runs_at(runs, last)->n, 40);
    assert_close(shot_value_runs_at(runs, last)->from, 100, 0);
    assert_close(shot_value_runs_at(runs, last)->to, 103.9, 1e-12);
    assert_true(shot_value_runs_expected(runs, last) < 1e-6);
    shot_value_runs_range(runs, &low, &high);
    assert_true(low < 4.9 && high > 5.2);
    for (size_t i = 0; i < last; i++)
        assert_true(shot_value_runs_expected(runs, i) > 0.01);
    shot_value_runs_free(runs);
}

/* A slow sensor whose figure is repeated nine to eleven times is not stuck all the time. */
static void a_sensor_that_repeats_is_judged_by_its_own_runs(void **state) {
    shot_value_runs *runs = new_runs();
    shot_random random = shot_random_at(5, 1);
    for (int i = 0; i < 600; i++) {
        const double y = 5 + shot_random_normal(&random);
        for (int k = 0; k < 9 + i % 3; k++)
            shot_value_runs_push(runs, i + k / 40.0, y);
    }
    shot_value_runs_finish(runs);
    for (size_t i = 0; i < shot_value_runs_count(runs); i++)
        assert_true(shot_value_runs_expected(runs, i) > 1);
    shot_value_runs_free(runs);
}

/* Much noise, then a soak in which the pump stands still and the figure falls by a step every
 * second or three, then noise again: the runs of the soak are like each other. */
static void a_quiet_part_is_not_stuck(void **state) {
    shot_value_runs *runs = new_runs();
    shot_random random = shot_random_at(6, 1);
    double t = 0;
    for (int i = 0; i < 300; i++, t += 0.1)
        shot_value_runs_push(runs, t, 0.1 * round(90 + 2 * shot_random_normal(&random)));
    for (int step = 0; step < 4; step++)
        for (int i = 0; i < 20 + 3 * step; i++, t += 0.1)
            shot_value_runs_push(runs, t, 0.1 * (25 - step));
    for (int i = 0; i < 300; i++, t += 0.1)
        shot_value_runs_push(runs, t, 0.1 * round(90 + 2 * shot_random_normal(&random)));
    shot_value_runs_finish(runs);
    assert_int_equal(shot_value_runs_count(runs), 4);
    for (size_t i = 0; i < 4; i++)
        assert_true(shot_value_runs_expected(runs, i) >= 1);
    shot_value_runs_free(runs);
}

/* A weight that grows by 0.2 g a sample, held for 2 s: after the true jump, after none, after one
 * far too high, and after one the other way. */
static void motion_missed_is_told_by_the_jump(void **state) {
    static const struct {
        double jump;
        bool missed;
    } cases[] = {{4, true}, {0.2, false}, {40, false}, {-4, false}};
    for (size_t k = 0; k < sizeof cases / sizeof *cases; k++) {
        shot_value_runs *runs = new_runs();
        for (int i = 0; i < 100; i++)
            shot_value_runs_push(runs, i / 10.0, 0.2 * i);
        for (int i = 100; i < 120; i++)
            shot_value_runs_push(runs, i / 10.0, 0.2 * 99);
        for (int i = 120; i < 140; i++)
            shot_value_runs_push(runs, i / 10.0, 0.2 * (i - 21) + cases[k].jump);
        shot_value_runs_finish(runs);
        assert_int_equal(shot_value_runs_count(runs), 1);
        assert_int_equal(shot_value_runs_at(runs, 0)->missed, cases[k].missed);
        shot_value_runs_free(runs);
    }
}

static void the_longest_runs_are_kept(void **state) {
    shot_value_runs *runs = new_runs();
    double t = 0;
    for (int i = 0; i < 2000; i++)
        for (int k = 0; k < (i % 100 == 50 ? 20 : 8); k++)
            shot_value_runs_push(runs, t++, i + 1);
    shot_value_runs_finish(runs);
    size_t longer = 0;
    const size_t count = shot_value_runs_count(runs);
    assert_int_equal(count, 512);
    for (size_t i = 0; i < count; i++) {
        longer += shot_value_runs_at(runs, i)->n == 20;
        assert_true(i == 0 ||
                    shot_value_runs_at(runs, i)->from > shot_value_runs_at(runs, i - 1)->to);
    }
    assert_int_equal(longer, 20);
    shot_value_runs_reset(runs);
    shot_value_runs_finish(runs);
    assert_int_equal(shot_value_runs_count(runs), 0);
    assert_close(shot_value_runs_stay(runs), 1, 0);
    shot_value_runs_free(runs);
}

/* Samples pushed in blocks leave what they leave one by one, to the last bit. */
static void blocks_carry_no_meaning(void **state) {
    enum { N = 9000 };
    static double t[N], y[N];
    for (uint64_t seed = 0; seed < 20; seed++) {
        shot_random random = shot_random_at(83, seed);
        shot_value_runs *one = new_runs(), *many = new_runs();
        for (size_t i = 0; i < N; i++) {
            t[i] = 0.1 * (double)i;
            y[i] = i > 0 && shot_random_chance(&random, 0.7)
                       ? y[i - 1]
                       : 0.1 * (double)shot_random_below(&random, 9);
            shot_value_runs_push(one, t[i], y[i]);
        }
        for (size_t i = 0, part; i < N; i += part) {
            part = 1 + shot_random_below(&random, 400);
            part = part < N - i ? part : N - i;
            shot_value_runs_push_block(many, t + i, y + i, part);
        }
        shot_value_runs_finish(one);
        shot_value_runs_finish(many);
        assert_int_equal(shot_value_runs_count(one), shot_value_runs_count(many));
        assert_true(shot_value_runs_stay(one) == shot_value_runs_stay(many));
        for (size_t i = 0; i < shot_value_runs_count(one); i++) {
            assert_true(shot_value_runs_at(one, i)->from == shot_value_runs_at(many, i)->from);
            assert_true(shot_value_runs_expected(one, i) == shot_value_runs_expected(many, i));
        }
        shot_value_runs_free(one);
        shot_value_runs_free(many);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_probability_to_stay_is_a_bound),
        cmocka_unit_test(flicker_between_two_steps_says_nothing),
        cmocka_unit_test(a_run_beyond_chance_is_told_from_one_of_chance),
        cmocka_unit_test(a_sensor_that_repeats_is_judged_by_its_own_runs),
        cmocka_unit_test(a_quiet_part_is_not_stuck),
        cmocka_unit_test(motion_missed_is_told_by_the_jump),
        cmocka_unit_test(the_longest_runs_are_kept),
        cmocka_unit_test(blocks_carry_no_meaning),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
