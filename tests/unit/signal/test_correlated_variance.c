/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the variance of a sum of correlated samples is that of all their covariances, wherever
 * time 0 lies: rows before it are usual once shot-align has moved it. */
#include <support/check.h>

#include "signal/correlated_variance.h"

enum { N = 40 };

static double of_all_pairs(const double *t, const double *weight, double time) {
    double sum = 0;
    for (size_t i = 0; i < N; i++)
        for (size_t k = 0; k < N; k++)
            sum += weight[i] * weight[k] * (i == k ? 1 : correlated_share(fabs(t[i] - t[k]), time));
    return sum;
}

static void it_is_that_of_all_pairs_at_any_time(void **state) {
    static const double starts[] = {0, -1, -30, -3600, -1.7e9, 1.7e9};
    static const double times[] = {0, 0.01, 0.1, 3};
    for (size_t s = 0; s < sizeof starts / sizeof *starts; s++)
        for (size_t c = 0; c < sizeof times / sizeof *times; c++) {
            double t[N], weight[N];
            for (size_t i = 0; i < N; i++) {
                t[i] = starts[s] + 0.0625 * (double)i + (i > N / 2 ? 5 : 0);
                weight[i] = i % 3 == 2 ? -0.5 : 1;
            }
            const double wanted = of_all_pairs(t, weight, times[c]);
            /* rounding of 40 additions */
            assert_close(correlated_variance_of(t, weight, N, times[c]), wanted, 1e-12 * wanted);
        }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_is_that_of_all_pairs_at_any_time),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
