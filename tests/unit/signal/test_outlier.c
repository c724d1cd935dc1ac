/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the odd one out, and how often a sample without one raises an alarm. */
#include <support/check.h>

#include <shottrace/signal/outlier.h>
#include <shottrace/signal/random.h>

/* NIST/SEMATECH e-Handbook 1.3.5.17.1: masses from a uranium isotope standard (Tietjen & Moore
 * 1972); G = 2.4687 for 245.57 (printed cut, not rounded), larger than the 5 % value. */
static void handbook_example_is_reproduced(void **state) {
    const double mass[] = {199.31, 199.53, NAN, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57};
    shot_outlier odd;
    assert_int_equal(shot_outlier_grubbs(mass, 9, &odd), SHOT_OK);
    assert_int_equal(odd.index, 8);
    assert_close(odd.g, 2.4687, 1e-4);
    assert_true(odd.p < 0.05);
}

/* The two-sided 5 % value for n = 8 is 2.1266450872: R 4.2.2, (n - 1)/sqrt(n) sqrt(t^2/(n - 2 +
 * t^2)) with t = qt(1 - 0.05/16, 6).  One value is moved until the sample has that G. */
static void critical_value_has_its_p(void **state) {
    double x[8] = {-1, -1, -1, 1, 1, 1, 0, 0};
    shot_outlier odd;
    double low = 1, high = 20;
    for (int i = 0; i < 60; i++) {
        x[7] = (low + high) / 2;
        assert_int_equal(shot_outlier_grubbs(x, 8, &odd), SHOT_OK);
        *(odd.g < 2.1266450872 ? &low : &high) = x[7];
    }
    assert_close(odd.p, 0.05, 1e-8);
}

/* 4000 normal samples of 8: 5 % alarms, binomial error 0.0034. */
static void false_alarms_stay_at_their_level(void **state) {
    enum { RUNS = 4000, N = 8 };
    int alarms = 0;
    for (uint64_t run = 0; run < RUNS; run++) {
        shot_random random = shot_random_at(29, run);
        double x[N];
        for (int i = 0; i < N; i++)
            x[i] = shot_random_normal(&random);
        shot_outlier odd;
        assert_int_equal(shot_outlier_grubbs(x, N, &odd), SHOT_OK);
        alarms += odd.p <= 0.05;
    }
    assert_close((double)alarms / RUNS, 0.05, 4 * sqrt(0.05 * 0.95 / RUNS));
}

static void samples_without_an_answer_are_refused(void **state) {
    shot_outlier odd;
    assert_int_equal(shot_outlier_grubbs((double[]){1, 2, NAN}, 3, &odd), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_outlier_grubbs((double[]){2, 2, 2}, 3, &odd), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_outlier_grubbs((double[]){0, 0, 9}, 3, &odd), SHOT_OK);
    assert_rel(odd.p, 0, 0); /* the largest G that three values can have */
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(handbook_example_is_reproduced),
        cmocka_unit_test(critical_value_has_its_p),
        cmocka_unit_test(false_alarms_stay_at_their_level),
        cmocka_unit_test(samples_without_an_answer_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
