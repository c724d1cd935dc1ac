/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the bounds of what a record can show, against least squares on simulated records, which
 * reach them for linear models with normal noise. */
#include <support/check.h>

#include <shottrace/signal/detectable.h>
#include <shottrace/signal/random.h>

enum { HALF = 40, N = 2 * HALF, RECORDS = 4000 };
static const double rate = 20, span = 2, sd = 0.3;

/* A standard deviation from RECORDS values is right to 1 / sqrt(2 RECORDS) = 1.1 %; four of these,
 * and 2.5 % for taking 80 samples as an integral (1 / HALF). */
static const double tolerance = 0.07;

static double time_of(int i) {
    return (i + 0.5) / rate - span;
}

/* What of `x` is not a + b t, by Gram and Schmidt. */
static void less_line(double x[N]) {
    double mean = 0, slope = 0, square = 0;
    for (int i = 0; i < N; i++) {
        mean += x[i] / N;
        slope += x[i] * time_of(i);
        square += time_of(i) * time_of(i);
    }
    for (int i = 0; i < N; i++)
        x[i] -= mean + slope / square * time_of(i);
}

static double dot(const double x[N], const double y[N]) {
    double sum = 0;
    for (int i = 0; i < N; i++)
        sum += x[i] * y[i];
    return sum;
}

/* Standard deviation of the coefficient of `x` in noise. */
static double scatter_of(const double x[N], shot_random *random) {
    double squares = 0, noise[N];
    for (int r = 0; r < RECORDS; r++) {
        for (int i = 0; i < N; i++)
            noise[i] = sd * shot_random_normal(random);
        const double found = dot(x, noise) / dot(x, x);
        squares += found * found;
    }
    return sqrt(squares / RECORDS);
}

static void a_step(void **state) {
    shot_random random = shot_random_at(7, 0);
    double x[N];
    for (int i = 0; i < N; i++)
        x[i] = i < HALF ? -0.5 : 0.5; /* what of a step is not a level */
    assert_rel(shot_detectable_step(sd, 1, rate, span), scatter_of(x, &random), tolerance);
}

static void a_bend(void **state) {
    shot_random random = shot_random_at(8, 0);
    double x[N];
    for (int i = 0; i < N; i++)
        x[i] = fmax(time_of(i), 0);
    less_line(x);
    assert_rel(shot_detectable_bend(sd, 1, rate, span), scatter_of(x, &random), tolerance);
}

/* The time of a bend of size d moves the record by d times a step: the coefficient of the step that
 * is not line or bend, over d. */
static void the_time_of_a_bend(void **state) {
    shot_random random = shot_random_at(9, 0);
    const double bend = 1.7;
    double x[N], step[N];
    for (int i = 0; i < N; i++) {
        x[i] = fmax(time_of(i), 0);
        step[i] = i < HALF ? 0 : 1;
    }
    less_line(x);
    less_line(step);
    const double share = dot(step, x) / dot(x, x);
    for (int i = 0; i < N; i++)
        step[i] -= share * x[i];
    assert_rel(shot_detectable_bend_time(sd, 1, rate, span, bend), scatter_of(step, &random) / bend,
               tolerance);
}

/* Noise of lag-1 correlation r tells a mean as (1 + r) / (1 - r) times less white noise does. */
static void correlated_noise_tells_less(void **state) {
    assert_rel(shot_detectable_step(sd, 4, rate, span), 2 * shot_detectable_step(sd, 1, rate, span),
               1e-15);
}

/* 1.959964 + 1.281552, and with 20 places the quantile at 1 - 0.05 / 40 = 0.99875, 3.023341 (normal
 * tables: Abramowitz & Stegun 1964, table 26.5). */
static void how_many_standard_errors(void **state) {
    assert_close(shot_detectable_factor(0.05, 1, 0.9), 3.241516, 1e-6);
    assert_close(shot_detectable_factor(0.05, 20, 0.5), 3.023341, 1e-6);
}

static void arguments_outside_their_interval(void **state) {
    assert_true(isnan(shot_detectable_step(0, 1, rate, span)));
    assert_true(isnan(shot_detectable_bend(sd, 1, 0, span)));
    assert_true(isnan(shot_detectable_bend(NAN, 1, rate, span)));
    assert_true(isnan(shot_detectable_bend_time(sd, 1, rate, span, 0)));
    assert_true(isnan(shot_detectable_factor(0.05, 0.5, 0.9)));
    assert_true(isnan(shot_detectable_factor(0, 1, 0.9)));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_step),
        cmocka_unit_test(a_bend),
        cmocka_unit_test(the_time_of_a_bend),
        cmocka_unit_test(correlated_noise_tells_less),
        cmocka_unit_test(how_many_standard_errors),
        cmocka_unit_test(arguments_outside_their_interval),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
