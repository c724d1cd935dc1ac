/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a running mean under a Gaussian is that of its formula, narrow or so wide that it is
 * made by a transform, the ends and series shorter than the weights reach included. */
#include <support/check.h>

#include <shottrace/signal/random.h>

#include "signal/gaussian_mean.h"

static double by_formula(const double *x, size_t n, double width, size_t i) {
    double sum = 0, weights = 0;
    for (size_t k = 0; k < n; k++) {
        const double u = ((double)k - (double)i) / width;
        if (fabs(u * width) > ceil(4 * width))
            continue;
        sum += exp(-u * u / 2) * x[k];
        weights += exp(-u * u / 2);
    }
    return sum / weights;
}

static void the_mean_is_that_of_the_formula(void **state) {
    enum { N = 900 };
    static const double widths[] = {0.75, 12, 25, 25.5, 100, 400};
    static const size_t lengths[] = {2, 30, 150, N};
    shot_random random = shot_random_at(42, 1);
    double x[N], out[N];
    for (size_t i = 0; i < N; i++)
        x[i] = 5 + shot_random_normal(&random);
    for (size_t k = 0; k < sizeof widths / sizeof *widths; k++)
        for (size_t j = 0; j < sizeof lengths / sizeof *lengths; j++) {
            assert_int_equal(gaussian_mean(x, lengths[j], widths[k], out), SHOT_OK);
            for (size_t i = 0; i < lengths[j]; i++) /* rounding of a transform of values about 5 */
                assert_close(out[i], by_formula(x, lengths[j], widths[k], i), 1e-13);
        }
}

static void no_width_leaves_the_samples(void **state) {
    const double x[] = {1, -2, 4};
    double out[3];
    assert_int_equal(gaussian_mean(x, 3, 0, out), SHOT_OK);
    for (size_t i = 0; i < 3; i++)
        assert_true(out[i] == x[i]);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(the_mean_is_that_of_the_formula),
                                       cmocka_unit_test(no_width_leaves_the_samples)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
