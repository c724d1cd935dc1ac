/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: median and MAD of arrays of every length, with ties, holes and unkind orders. */
#include <support/check.h>

#include <stdlib.h>
#include <string.h>

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

static void swap_places(size_t *a, size_t *b) {
    const size_t keep = *a;
    *a = *b;
    *b = keep;
}

/* An order that makes each pivot the second smallest of what is left, found by playing the
 * partition with values that are decided only when it looks at them (after McIlroy 1999, 'A killer
 * adversary for quicksort', Softw. Pract. Exper. 29:341-344). */
static void unkind_order(double *x, size_t n) {
    size_t *place = malloc(n * sizeof *place);
    assert_non_null(place);
    for (size_t i = 0; i < n; i++) {
        place[i] = i;
        x[i] = INFINITY; /* not decided yet */
    }
    double next = 0;
    for (size_t low = 0; low + 2 < n; low += 2) {
        const size_t middle = low + (n - 1 - low) / 2;
        x[place[low]] = next++;
        const double pivot = x[place[middle]] = next++;
        size_t less = low, i = low, more = n;
        while (i < more) {
            if (x[place[i]] < pivot)
                swap_places(&place[less++], &place[i++]);
            else if (x[place[i]] > pivot)
                swap_places(&place[i], &place[--more]);
            else
                i++;
        }
    }
    for (size_t i = 0; i < n; i++)
        if (isinf(x[i]))
            x[i] = next++;
    free(place);
}

/* The way out for such an order must give the same answer. */
static void unkind_order_gives_the_sorted_middle(void **state) {
    double x[2000], y[2000];
    for (size_t n = 1997; n <= 2000; n++) {
        unkind_order(x, n);
        memcpy(y, x, sizeof y);
        assert_true(shot_median(x, n) == by_sorting(y, n));
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(worked_examples),
        cmocka_unit_test(constant_makes_normal_noise_consistent),
        cmocka_unit_test(missing_values_are_left_out),
        cmocka_unit_test(large_values_do_not_overflow),
        cmocka_unit_test(every_order_gives_the_sorted_middle),
        cmocka_unit_test(unkind_order_gives_the_sorted_middle),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
