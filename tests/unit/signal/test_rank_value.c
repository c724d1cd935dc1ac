/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a value found by counting is, to the bit, the one that sorting puts at its rank: of
 * either sign, of zeros, of values that come more than once, of the least and the largest doubles.
 */
#include <support/check.h>

#include <float.h>
#include <stdlib.h>

#include <shottrace/signal/random.h>
#include <shottrace/signal/rank_test.h>
#include <shottrace/signal/sample_quantile.h>
#include <shottrace/signal/trend.h>

#include "signal/rank_value.h"

typedef struct values {
    const double *x;
    size_t n;
} values;

static double up_to(double limit, void *context) {
    const values *v = context;
    double count = 0;
    for (size_t i = 0; i < v->n; i++)
        count += v->x[i] <= limit;
    return count;
}

static void ranks_are_those_of_sorting(void **state) {
    double x[] = {3, -0.0, 0, 1e300, -1e300, 2.5, 2.5, 2.5, DBL_MIN / 8, -DBL_MIN, DBL_MAX, -2.5};
    values v = {x, sizeof x / sizeof *x};
    shot_sample_quantile_sort(x, v.n);
    for (size_t k = 0; k < v.n; k++)
        assert_true(rank_value(up_to, &v, (double)k + 1) == x[k]);
    for (double p = 0; p <= 1; p += 0.125)
        assert_true(rank_value_quantile(up_to, &v, (double)v.n - 2, p) ==
                    shot_sample_quantile(x, v.n - 2, p));
}

/* Hodges and Lehmann's shift and Theil and Sen's slope are medians over all pairs: of groups with
 * ties, held against the pairs themselves, laid out and sorted. */
static void medians_of_pairs_are_those_of_the_pairs(void **state) {
    enum { N = 120, M = 71 };
    shot_random random = shot_random_at(43, 1);
    double a[N], b[M], *pair = calloc(N * N, sizeof *pair);
    for (size_t i = 0; i < N; i++)
        a[i] = floor(4 * shot_random_normal(&random)) / 3;
    for (size_t i = 0; i < M; i++)
        b[i] = i % 9 == 0 ? NAN : 1 + floor(4 * shot_random_normal(&random)) / 3;
    size_t pairs = 0;
    for (size_t i = 0; i < N; i++)
        for (size_t k = 0; k < M; k++)
            if (!isnan(b[k]))
                pair[pairs++] = a[i] - b[k];
    shot_sample_quantile_sort(pair, pairs);
    shot_rank_test rank;
    assert_int_equal(shot_rank_test_find(a, N, b, M, 0.95, &rank), SHOT_OK);
    assert_true(rank.shift == shot_sample_quantile(pair, pairs, 0.5));
    assert_true(rank.low < rank.shift && rank.shift < rank.high);
    a[7] = NAN;
    pairs = 0;
    for (size_t i = 0; i < N; i++)
        for (size_t k = i + 1; k < N; k++)
            if (!isnan(a[i] + a[k]))
                pair[pairs++] = (a[k] - a[i]) / (double)(k - i);
    shot_sample_quantile_sort(pair, pairs);
    shot_mann_kendall trend;
    assert_int_equal(shot_trend_mann_kendall(a, N, 0.95, &trend), SHOT_OK);
    /* lines of a slope are rounded where slopes are not: values to 4, places to 120 */
    assert_close(trend.slope, shot_sample_quantile(pair, pairs, 0.5), 1e-14);
    for (size_t i = 0; i < N; i++)
        a[i] = i % 2 ? 2.2 : 2; /* half of the pairs are level: no slope, and not -1e-18 */
    assert_int_equal(shot_trend_mann_kendall(a, N, 0.95, &trend), SHOT_OK);
    assert_true(trend.slope == 0 && !signbit(trend.slope));
    free(pair);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(ranks_are_those_of_sorting),
                                       cmocka_unit_test(medians_of_pairs_are_those_of_the_pairs)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
