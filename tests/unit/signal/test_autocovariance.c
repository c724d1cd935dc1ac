/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: many lags, which come from a transform, are the sums that few lags are made of. */
#include <support/check.h>

#include <shottrace/signal/random.h>

#include "signal/autocovariance.h"

static void many_lags_are_the_sums_of_few(void **state) {
    enum { N = 700 };
    static const size_t lags[] = {1, 64, 65, 350, N};
    shot_random random = shot_random_at(41, 1);
    double x[N], sum[N];
    for (size_t i = 0; i < N; i++)
        x[i] = 3 + shot_random_normal(&random);
    for (size_t k = 0; k < sizeof lags / sizeof *lags; k++) {
        assert_int_equal(autocovariance(x, N, lags[k], sum), SHOT_OK);
        for (size_t lag = 0; lag < lags[k]; lag++) {
            double truth = 0;
            for (size_t i = 0; i + lag < N; i++)
                truth += x[i] * x[i + lag];
            /* rounding of a transform: some epsilons of the largest sum */
            assert_close(sum[lag], truth, 1e-13 * sum[0]);
        }
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(many_lags_are_the_sums_of_few)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
