/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: medians of short windows found side by side, of whatever length, are to the bit those
 * of sorted samples, and what is crowded is what counting one by one says. */
#include <support/check.h>

#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/random.h>
#include <shottrace/signal/sample_quantile.h>
#include <signal/window_lanes.h>
#include <signal/window_median.h>

enum { ROWS = 3 * WINDOW_LANES + 5 };

static double plain_median(const double *y, size_t n) {
    double sorted[WINDOW_LANES_LONGEST];
    memcpy(sorted, y, n * sizeof *y);
    shot_sample_quantile_sort(sorted, n);
    return n % 2 == 1 ? sorted[n / 2] : window_median_middle(sorted[n / 2 - 1], sorted[n / 2]);
}

static bool plainly_crowded(const double *y, size_t n, double median, double own, double part) {
    const double distance = fabs(own - median) / part * (1 + 1e-12);
    size_t nearer = 0;
    for (size_t k = 0; k < n; k++)
        nearer += fabs(y[k] - median) < distance;
    return 2 * nearer > n - 1;
}

/* Figures with steps, which are often equal, smooth ones, and some that stand out. */
static void make_samples(shot_random *random, double *y, size_t n) {
    const double step = shot_random_chance(random, 0.5) ? 1 : 0.001;
    for (size_t i = 0; i < n; i++) {
        y[i] = step * round(shot_random_normal(random) / step) + 0.02 * (double)i;
        y[i] += shot_random_chance(random, 0.05) ? 20 : 0;
    }
}

/* No sample is looked at that no window has: the memory ends there. */
static void windows_agree_with_sorted_ones(void **state) {
    shot_random random = shot_random_at(23, 1);
    size_t crowds = 0;
    for (int i = 0; i < 1000; i++)
        for (size_t n = WINDOW_LANES_LEAST; n <= WINDOW_LANES_LONGEST; n++) {
            const size_t rows = WINDOW_LANES + shot_random_below(&random, ROWS - WINDOW_LANES + 1);
            const double part = shot_random_between(&random, 0.5, 6);
            const size_t samples = rows + n - 1;
            double *y = malloc(samples * sizeof *y), median[ROWS];
            bool crowded[ROWS];
            make_samples(&random, y, samples);
            const double *own = y + n / 2;
            window_lanes_look(y, n, own, rows, part, median, crowded);
            for (size_t row = 0; row < rows; row++) {
                const double expected = plain_median(y + row, n);
                assert_true(median[row] == expected);
                assert_int_equal(crowded[row],
                                 plainly_crowded(y + row, n, expected, own[row], part));
                crowds += crowded[row];
            }
            free(y);
        }
    assert_true(crowds > 10000);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(windows_agree_with_sorted_ones)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
