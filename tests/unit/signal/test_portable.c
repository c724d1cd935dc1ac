/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the portable functions are right (values to 20 digits computed with mpmath 1.2.1) and
 * agree with the C library over their range.  Tolerance: 2 units in the last place, as promised;
 * the C library itself is within 1. */
#include <support/check.h>

#include <float.h>

#include <shottrace/signal/portable.h>
#include <shottrace/signal/random.h>

#include "signal/portable_many.h"

static void exp_agrees_with_libm_over_its_range(void **state) {
    shot_random random = shot_random_at(1, 0);
    for (int i = 0; i < 100000; i++) {
        double x = shot_random_between(&random, -700, 700);
        assert_rel(shot_portable_exp(x), exp(x), 3 * DBL_EPSILON);
        x /= 700;
        assert_rel(shot_portable_exp(x), exp(x), 3 * DBL_EPSILON);
    }
}

static void exp_has_its_limits(void **state) {
    assert_true(shot_portable_exp(0) == 1);
    assert_true(shot_portable_exp(-1e4) == 0);
    assert_true(isinf(shot_portable_exp(1e4)));
    assert_true(isnan(shot_portable_exp(NAN)));
    assert_rel(shot_portable_exp(1), 2.7182818284590452354, DBL_EPSILON);
    assert_rel(shot_portable_exp(-745), 4.9406564584124654e-324, 1e-12); /* a denormal number */
}

static void log_agrees_with_libm_over_its_range(void **state) {
    shot_random random = shot_random_at(2, 0);
    for (int i = 0; i < 100000; i++) {
        double x = exp(shot_random_between(&random, -700, 700));
        assert_rel(shot_portable_log(x), log(x), 3 * DBL_EPSILON);
        x = shot_random_between(&random, 0.5, 1.5); /* through the zero of the logarithm */
        assert_rel(shot_portable_log(x), log(x), 3 * DBL_EPSILON);
    }
}

static void log_has_its_limits(void **state) {
    assert_true(shot_portable_log(1) == 0);
    assert_true(isinf(shot_portable_log(0)) && shot_portable_log(0) < 0);
    assert_true(isinf(shot_portable_log(INFINITY)));
    assert_true(isnan(shot_portable_log(-1)));
    assert_rel(shot_portable_log(10), 2.3025850929940456840, DBL_EPSILON);
}

static void pow_agrees_with_libm(void **state) {
    shot_random random = shot_random_at(3, 0);
    for (int i = 0; i < 10000; i++) {
        const double x = shot_random_between(&random, 0.01, 20);
        const double y = shot_random_between(&random, -6, 6);
        assert_rel(shot_portable_pow(x, y), pow(x, y), 1e-14);
    }
    assert_true(shot_portable_pow(0, 2) == 0);
    assert_true(shot_portable_pow(7, 0) == 1);
}

static void sine_is_exact_at_the_quarters_and_right_between(void **state) {
    for (int turn = -3; turn <= 3; turn++) {
        assert_true(shot_portable_sin_turns(turn) == 0);
        assert_true(shot_portable_sin_turns(turn + 0.25) == 1);
        assert_true(shot_portable_sin_turns(turn + 0.75) == -1);
    }
    assert_rel(shot_portable_sin_turns(1.0 / 12), 0.5, 2 * DBL_EPSILON);
    shot_random random = shot_random_at(4, 0);
    for (int i = 0; i < 10000; i++) {
        const double x = shot_random_between(&random, 0, 1);
        /* libm must round 2 pi x first: absolute, 2 pi half units in the last place */
        assert_close(shot_portable_sin_turns(x), sin(6.283185307179586 * x), 8 * DBL_EPSILON);
    }
}

/* Several lengths, so that some are left over from the vectors. */
static void many_are_those_of_one_to_the_bit(void **state) {
    enum { MOST = 67 };
    shot_random random = shot_random_at(5, 0);
    double log_of[MOST], exp_of[MOST], x[MOST], y[MOST];
    for (int round = 0; round < 2000; round++) {
        const size_t n = (size_t)round % MOST + 1;
        for (size_t i = 0; i < n; i++) {
            x[i] = shot_random_between(&random, -700, round % 2 == 0 ? 700 : -650);
            y[i] = round % 3 == 0 ? shot_random_between(&random, 0.5, 1.5) : exp(x[i]);
            exp_of[i] = shot_portable_exp(x[i]);
            log_of[i] = shot_portable_log(y[i]);
        }
        portable_exp_many(x, n);
        portable_log_many(y, n);
        assert_memory_equal(x, exp_of, n * sizeof *x);
        assert_memory_equal(y, log_of, n * sizeof *y);
    }
}

static void many_have_their_limits(void **state) {
    double small[] = {-708.3, -708.4, -1e4, -INFINITY, 0}, numbers[] = {DBL_MIN, DBL_MAX, 1, 2};
    portable_exp_many(small, 5);
    assert_true(small[0] == shot_portable_exp(-708.3));
    assert_true(small[1] == 0 && small[2] == 0 && small[3] == 0 && small[4] == 1);
    portable_log_many(numbers, 4);
    assert_true(numbers[0] == shot_portable_log(DBL_MIN));
    assert_true(numbers[1] == shot_portable_log(DBL_MAX) && numbers[2] == 0);
    assert_rel(numbers[3], 0.69314718055994531, DBL_EPSILON);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(exp_agrees_with_libm_over_its_range),
        cmocka_unit_test(exp_has_its_limits),
        cmocka_unit_test(log_agrees_with_libm_over_its_range),
        cmocka_unit_test(log_has_its_limits),
        cmocka_unit_test(pow_agrees_with_libm),
        cmocka_unit_test(sine_is_exact_at_the_quarters_and_right_between),
        cmocka_unit_test(many_are_those_of_one_to_the_bit),
        cmocka_unit_test(many_have_their_limits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
