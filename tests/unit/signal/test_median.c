/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: median and MAD of arrays of every length, with ties, holes and unkind orders. */
#include <support/check.h>

#include <stdlib.h>

#include <shottrace/signal/median.h>
#include <shottrace/signal/random.h>
#include <shottrace/signal/sample_quantile.h>

/* The worked vector of 14 values of Davies & Gather's identifier; scipy 1.10.1
 * median_abs_deviation gives the same. R: mad(1:9) is 1.4826 * 2. */
static void worked_examples(void **state) {
    double x[] = {2.1, 2.3, 2.2, 9.7, 2.4, 2.6, 2.5, 2.5, -4, 2.7, 2.8, 3.1, 3, 3.2}, median;
    const double mad = shot_median_mad(x, 14, &median);
    assert_close(median, 2.55, 1e-15);
    assert_close(mad, 0.3, 1e-15);
    assert_close(SHOT_MAD_TO_SD * mad, 0.444780665552, 5e-13);
    double nine[] = {9, 1, 8, 2, 7, 3, 6, 4, 5};
    assert_true(shot_median_mad(nine, 9, NULL) == 2);
}

/* 1 / quantile(3/4) of the standard normal, mpmath to 25 digits. */
static void constant_makes_normal_noise_consistent(void **state) {
    assert_rel(SHOT_MAD_TO_SD * 0.67448975019608174320, 1.0, 1e-15);
}

static void missing_values_are_left_out(void **state) {
    double x[] = {NAN, 3, NAN, 1, 2, NAN}, none[] = {NAN, NAN};
    assert_true(shot_median(x, 6) == 2);
    assert_true(isnan(shot_median(none, 2)));
    assert_true(isnan(shot_median(none, 0)));
    assert_true(isnan(shot_median_mad(none, 2, NULL)));
}

static void large_values_do_not_overflow(void **state) {
    double x[] = {1.7e308, 1.7e308};
    assert_true(shot_median(x, 2) == 1.7e308);
}

static double by_sorting(double *x, size_t n) {
    return shot_sample_quantile(x, shot_sample_quantile_sort(x, n), 0.5);
}

/* Few distinct values (a coarse gauge), rising, falling, organ pipe, random: the same as after
 * sorting. */
static void every_order_gives_the_sorted_middle(void **state) {
    shot_random random = shot_random_at(8, 0);
    for (size_t n = 1; n < 400; n++) {
        for (int kind = 0; kind < 5; kind++) {
            double x[400], y[400];
            for (size_t i = 0; i < n; i++) {
                const double kinds[] = {(double)shot_random_below(&random, 5), (double)i,
                                        (double)(n - i), (double)(i < n / 2 ? i : n - i),
                                        shot_random_normal(&random)};
                x[i] = y[i] = kinds[kind];
            }
            assert_close(shot_median(x, n), by_sorting(y, n), 1e-15);
        }
    }
}

/* Musser 1997, 'Introspective sorting and selection algorithms', Softw. Pract. Exper. 27:983-993:
 * an order that makes the middle of three the second smallest each time.  Without the fallback this
 * takes n^2 / 4 steps: minutes. */
static void killer_order_takes_no_longer_than_sorting(void **state) {
    const size_t n = 1000000;
    double *x = malloc(n * sizeof *x);
    assert_non_null(x);
    for (size_t i = 0; i < n / 2; i++) {
        x[i] = i % 2 == 0 ? (double)(i + 1) : (double)(n / 2 + i);
        x[n / 2 + i] = 2.0 * (double)(i + 1);
    }
    double *y = malloc(n * sizeof *y);
    assert_non_null(y);
    for (size_t i = 0; i < n; i++)
        y[i] = x[i];
    assert_close(shot_median(x, n), by_sorting(y, n), 0);
    free(x);
    free(y);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(worked_examples),
        cmocka_unit_test(constant_makes_normal_noise_consistent),
        cmocka_unit_test(missing_values_are_left_out),
        cmocka_unit_test(large_values_do_not_overflow),
        cmocka_unit_test(every_order_gives_the_sorted_middle),
        cmocka_unit_test(killer_order_takes_no_longer_than_sorting),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
