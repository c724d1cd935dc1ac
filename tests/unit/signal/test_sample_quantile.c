/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: order statistics of any sample, and the stated definition of a quantile. */
#include <support/check.h>

#include <shottrace/signal/random.h>
#include <shottrace/signal/sample_quantile.h>

/* Definition 7 on 1, 2, 4, 8: place 1 + 3p. */
static void quantiles_interpolate_order_statistics(void **state) {
    const double x[] = {1, 2, 4, 8};
    assert_rel(shot_sample_quantile(x, 4, 0), 1, 0);
    assert_rel(shot_sample_quantile(x, 4, 0.25), 1.75, 1e-15);
    assert_rel(shot_sample_quantile(x, 4, 0.5), 3, 1e-15);
    assert_rel(shot_sample_quantile(x, 4, 0.9), 6.8, 1e-15);
    assert_rel(shot_sample_quantile(x, 4, 1), 8, 0);
    assert_true(isnan(shot_sample_quantile(x, 0, 0.5)));
    assert_true(isnan(shot_sample_quantile(x, 4, 1.5)));
}

static void sorting_orders_every_sample_and_puts_missing_values_last(void **state) {
    double x[200];
    for (size_t n = 0; n <= 200; n++) {
        shot_random random = shot_random_at(7, n);
        double sum = 0, sorted_sum = 0;
        size_t missing = 0;
        for (size_t i = 0; i < n; i++) {
            x[i] = shot_random_chance(&random, 0.1) ? NAN : (double)shot_random_below(&random, 50);
            missing += isnan(x[i]) != 0;
            sum += isnan(x[i]) ? 0 : x[i];
        }
        size_t present = shot_sample_quantile_sort(x, n);
        assert_int_equal(present, n - missing);
        for (size_t i = 0; i < n; i++) {
            assert_true((i < present) != (isnan(x[i]) != 0));
            assert_true(i == 0 || i >= present || x[i - 1] <= x[i]);
            sorted_sum += i < present ? x[i] : 0;
        }
        assert_rel(sorted_sum, sum, 0); /* whole numbers: exact */
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(quantiles_interpolate_order_statistics),
        cmocka_unit_test(sorting_orders_every_sample_and_puts_missing_values_last),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
