/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: whether the scatter of samples is below a limit is answered in short as the scatter
 * itself, worked out, answers it. */
#include <support/check.h>

#include <shottrace/signal/random.h>

#include "signal/scatter.h"

enum { MOST = 128 };

/* Noise about a slope or a curve, in few digits or many, some of it in stretches of one value. */
static size_t make_samples(shot_random *random, double *t, double *y) {
    static const double steps[] = {0, 1e-12, 0.1, 0.25, 3};
    const size_t n = 1 + shot_random_below(random, MOST);
    const double step = steps[shot_random_below(random, 5)];
    const double noise = shot_random_chance(random, 0.2) ? 0 : shot_random_between(random, 0, 1);
    const double level = shot_random_chance(random, 0.2) ? 1e9 : 0;
    for (size_t i = 0; i < n; i++) {
        t[i] = 0.1 * (double)i + shot_random_between(random, 0, 0.05);
        y[i] = level + 2 * sin(t[i]) + noise * shot_random_normal(random);
        y[i] = step > 0 ? step * round(y[i] / step) : y[i];
        if (i > 0 && shot_random_chance(random, 0.2))
            y[i] = y[i - 1];
    }
    return n;
}

/* Limits far from the scatter, near to it, and as near as rounding. */
static void short_answer_is_that_of_the_scatter(void **state) {
    static const double factors[] = {1e-3, 0.5, 0.9, 1 - 1e-11, 1, 1 + 1e-11, 1.1, 2, 1e3};
    size_t below = 0, asked = 0;
    for (uint64_t seed = 0; seed < 3000; seed++) {
        shot_random random = shot_random_at(91, seed);
        double t[MOST], y[MOST], work[MOST], residuals[MOST];
        const size_t n = make_samples(&random, t, y);
        const double times = shot_random_between(&random, 0.5, 8);
        const double scatter = times * scatter_of(t, y, n, work);
        scatter_residuals(t, y, n, residuals);
        for (size_t k = 0; k < sizeof factors / sizeof *factors; k++) {
            const double limit = scatter > 0 ? factors[k] * scatter : factors[k];
            const bool is_below = scatter_is_below(residuals, y, n, limit, times, work);
            assert_true(is_below == (scatter < limit));
            below += is_below;
            asked++;
        }
    }
    assert_in_range(below, asked / 4, 3 * asked / 4);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(short_answer_is_that_of_the_scatter)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
