/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the running integral is exact for polynomials of its degree on any times, its gain is
 * the variance that it has, and gaps are bridged or break it as asked. */
#include <support/check.h>

#include <shottrace/signal/integral.h>
#include <shottrace/signal/random.h>

enum { MOST = 200 };

/* Feed, asking after every `portion` samples, twice with a reset between. */
static void run(shot_integral_rule rule, const double *t, const double *y, size_t n, size_t portion,
                shot_integral_at *out) {
    shot_integral *integral;
    assert_int_equal(shot_integral_new(&rule, &integral), SHOT_OK);
    for (int round = 0; round < 2; round++) {
        size_t count = 0;
        for (size_t i = 0; i < n; i++) {
            assert_int_equal(shot_integral_push(integral, t[i], y[i]), SHOT_OK);
            while (i % portion == portion - 1 && shot_integral_next(integral, out + count))
                count++;
        }
        shot_integral_finish(integral);
        while (shot_integral_next(integral, out + count))
            count++;
        assert_int_equal(count, n);
        shot_integral_reset(integral);
    }
    shot_integral_free(integral);
}

/* By hand. */
static void trapezoid_on_an_uneven_grid(void **state) {
    const double t[] = {0, 0.9, 2.1, 3}, y[] = {0, 1.8, 0.6, 2.4};
    const double known[] = {0, 0.81, 2.25, 3.6};
    shot_integral_at at[5];
    run((shot_integral_rule){1, INFINITY, true, 0}, t, y, 4, 1, at);
    for (size_t i = 0; i < 4; i++)
        assert_close(at[i].value, known[i], 1e-13);
}

static double power_integral(double t, double from, int power) {
    return (pow(t, power + 1) - pow(from, power + 1)) / (power + 1);
}

/* Every power up to the degree, on random times with holes; missing samples get no integral. */
static void exact_up_to_its_degree(void **state) {
    shot_random random = shot_random_at(9, 9);
    for (int degree = 1; degree <= 3; degree += 2) {
        for (int power = 0; power <= degree; power++) {
            double t[MOST], y[MOST], now = -1;
            shot_integral_at at[MOST + 1];
            for (size_t i = 0; i < MOST; i++) {
                t[i] = now += shot_random_between(&random, 0.001, 0.03);
                y[i] = i > 0 && shot_random_chance(&random, 0.3) ? NAN : pow(t[i], power);
            }
            run((shot_integral_rule){degree, INFINITY, true, 0}, t, y, MOST, 3, at);
            for (size_t i = 0; i < MOST; i++) {
                assert_true(isnan(at[i].value) == isnan(y[i]));
                if (!isnan(y[i]))
                    assert_close(at[i].value, power_integral(t[i], t[0], power), 1e-13);
            }
        }
    }
}

/* The cubic rule's error falls with the fourth power of the step, the trapezoid's with the square:
 * for exp on 80 and 160 steps the ratios of errors are near 16 and 4. */
static double error_of(int degree, size_t steps) {
    double t[MOST], y[MOST];
    shot_integral_at at[MOST + 1];
    for (size_t i = 0; i <= steps; i++) {
        t[i] = (double)i / (double)steps;
        y[i] = exp(t[i]);
    }
    run((shot_integral_rule){degree, INFINITY, true, 0}, t, y, steps + 1, 1, at);
    return fabs(at[steps].value - (exp(1) - 1));
}

static void errors_fall_with_the_order(void **state) {
    assert_close(error_of(1, 80) / error_of(1, 160), 4, 0.1);
    assert_close(error_of(3, 80) / error_of(3, 160), 16, 1);
}

/* With few samples the rule uses what there is: two give the line, three the parabola. */
static void few_samples(void **state) {
    const double t[] = {0, 1, 3}, y[] = {0, 1, 9};
    shot_integral_at at[4];
    run((shot_integral_rule){3, INFINITY, true, 0}, t, y, 1, 1, at);
    assert_true(at[0].value == 0 && at[0].gain == 0);
    run((shot_integral_rule){3, INFINITY, true, 0}, t, y, 2, 1, at);
    assert_close(at[1].value, 0.5, 1e-15);
    run((shot_integral_rule){3, INFINITY, true, 0}, t, y, 3, 1, at);
    assert_close(at[1].value, 1.0 / 3, 1e-14);
    assert_close(at[2].value, 9, 1e-14);
}

/* The gain is the sum of squared weights: found again by integrating each unit sample alone. */
static void gain_is_that_of_the_weights(void **state) {
    const double t[] = {0, 0.9, 2.1, 2.8, 4.2, 5, 9, 10.1, 11.4, 12};
    for (int degree = 1; degree <= 3; degree += 2) {
        const shot_integral_rule rule = {degree, 2, true, 0};
        double y[10] = {0}, sum[10] = {0};
        shot_integral_at at[11];
        for (size_t j = 0; j < 10; j++) {
            y[j] = 1;
            run(rule, t, y, 10, 1, at);
            y[j] = 0;
            for (size_t i = 0; i < 10; i++)
                sum[i] += at[i].value * at[i].value;
        }
        for (size_t i = 0; i < 10; i++)
            assert_close(at[i].gain, sum[i], 1e-13);
    }
}

static void gaps_are_bridged_or_break_the_sum(void **state) {
    const double t[] = {0, 1, 2, 6, 7, 8}, y[] = {1, 1, 1, 3, 3, 3};
    const double bridged[] = {0, 1, 2, 10, 13, 16};
    shot_integral_at at[7];
    for (int degree = 1; degree <= 3; degree += 2) {
        run((shot_integral_rule){degree, 1.5, true, 0}, t, y, 6, 1, at);
        for (size_t i = 0; i < 6; i++) {
            assert_close(at[i].value, bridged[i], 1e-13);
            assert_true(at[i].gap == (i == 3 ? 4 : 0));
        }
        run((shot_integral_rule){degree, 1.5, false, 0}, t, y, 6, 1, at);
        for (size_t i = 0; i < 6; i++) {
            assert_true(isnan(at[i].value) == (i >= 3) && isnan(at[i].gain) == (i >= 3));
            if (i < 3)
                assert_close(at[i].value, (double)i, 1e-14);
        }
    }
}

/* In a stretch of missing rows the last values come out once the gap is certain, so that a channel
 * that falls silent does not hold the others back. */
static void silence_does_not_hold_back(void **state) {
    shot_integral *integral;
    shot_integral_at at;
    assert_int_equal(shot_integral_new(&(shot_integral_rule){3, 1, true, 0}, &integral), SHOT_OK);
    for (int i = 0; i < 2; i++)
        assert_int_equal(shot_integral_push(integral, 0.1 * i, 1), SHOT_OK);
    assert_true(shot_integral_next(integral, &at));
    assert_false(shot_integral_next(integral, &at));
    for (int i = 2; i < 100; i++)
        assert_int_equal(shot_integral_push(integral, 0.1 * i, NAN), SHOT_OK);
    for (int i = 1; i < 100; i++)
        assert_true(shot_integral_next(integral, &at));
    shot_integral_free(integral);
}

static void bad_calls_are_refused(void **state) {
    shot_integral *integral;
    const shot_integral_rule bad[] = {
        {2, 1, true, 0}, {1, 0, true, 0}, {1, NAN, true, 0}, {5, 1, true, 0}};
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(shot_integral_new(&bad[i], &integral), SHOT_ERR_RANGE);
        assert_null(integral);
    }
    assert_int_equal(shot_integral_new(&(shot_integral_rule){1, 1, true, 0}, &integral), SHOT_OK);
    assert_int_equal(shot_integral_push(integral, 1, 1), SHOT_OK);
    assert_int_equal(shot_integral_push(integral, 1, 1), SHOT_ERR_DATA);
    assert_int_equal(shot_integral_push(integral, NAN, 1), SHOT_ERR_DATA);
    shot_integral_free(integral);
    shot_integral_free(NULL);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(trapezoid_on_an_uneven_grid),
        cmocka_unit_test(exact_up_to_its_degree),
        cmocka_unit_test(errors_fall_with_the_order),
        cmocka_unit_test(few_samples),
        cmocka_unit_test(gain_is_that_of_the_weights),
        cmocka_unit_test(gaps_are_bridged_or_break_the_sum),
        cmocka_unit_test(silence_does_not_hold_back),
        cmocka_unit_test(bad_calls_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
