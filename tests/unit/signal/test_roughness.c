/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the roughness around each sample, whose sum moves on by four at once, is the mean of
 * the sizes within reach, whichever number of samples is left over; to 1e-11, more than the
 * rounding of a few hundred sums. */
#include <support/check.h>

#include <shottrace/signal/random.h>
#include <signal/roughness.h>

enum { MOST = 300 };

/* Sample i has size[i - 1]; the first and the last one have none. */
static double mean_about(const double *size, size_t n, size_t reach, size_t i) {
    double sum = 0, count = 0;
    for (size_t k = 1; k + 1 < n; k++)
        if (k <= i + reach && i <= k + reach) {
            sum += size[k - 1];
            count++;
        }
    return sum / count;
}

static void is_the_mean_within_reach(void **state) {
    shot_random random = shot_random_at(93, 0);
    for (size_t n = 3; n < MOST; n += n < 80 ? 1 : 17)
        for (size_t reach = 1; reach <= 12; reach += 11) {
            double size[MOST], out[MOST];
            for (size_t i = 0; i + 2 < n; i++)
                size[i] = fabs(shot_random_normal(&random));
            roughness(size, n, reach, out);
            for (size_t i = 0; i < n; i++)
                assert_close(out[i], mean_about(size, n, reach, i), 1e-11);
        }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(is_the_mean_within_reach),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
