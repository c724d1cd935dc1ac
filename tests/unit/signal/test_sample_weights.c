/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the weights of an interpolated value are its partial derivatives, sum to 1, give the
 * value back, and are missing where it is. */
#include <support/check.h>

#include <shottrace/signal/lagrange.h>
#include <shottrace/signal/linear.h>
#include <shottrace/signal/monotone_cubic.h>
#include <shottrace/signal/random.h>
#include <shottrace/signal/sample_weights.h>

typedef shot_status (*interpolant)(const double *t, const double *y, size_t n, const double *at,
                                   size_t m, double *value);
typedef shot_status (*weigher)(const double *t, const double *y, size_t n, const double *at,
                               size_t m, shot_sample_weights *out);

static const struct {
    interpolant value;
    weigher weights;
} WAYS[] = {{shot_linear, shot_linear_weights},
            {shot_monotone_cubic, shot_monotone_cubic_weights},
            {shot_lagrange, shot_lagrange_weights}};

enum { N = 30, M = 67, ROUNDS = 300, LONG = 7 };

/* Uneven times, some of them far apart, values missing here and there; runs short and long. */
static size_t make_series(shot_random *random, double *t, double *y, double *at) {
    const size_t n = 1 + (size_t)shot_random_below(random, N);
    for (size_t i = 0; i < n; i++) {
        t[i] = (i > 0 ? t[i - 1] : 0) + 0.2 + shot_random_uniform(random);
        t[i] += shot_random_chance(random, 0.05) ? LONG : 0;
        y[i] = shot_random_chance(random, 0.1) ? NAN : shot_random_normal(random);
    }
    for (size_t k = 0; k < M; k++)
        at[k] = t[0] - 0.1 + (t[n - 1] - t[0] + 0.2) * (double)k / (M - 1);
    at[M / 2] = t[n / 2] >= at[M / 2 - 1] && t[n / 2] <= at[M / 2 + 1] ? t[n / 2] : at[M / 2];
    return n;
}

/* 1e-11: weights of the polynomial through uneven samples reach some hundreds. */
static void weights_give_the_value_back(void **state) {
    shot_random random = shot_random_at(35, 1);
    for (int round = 0; round < ROUNDS; round++)
        for (size_t way = 0; way < sizeof WAYS / sizeof *WAYS; way++) {
            double t[N], y[N], at[M], value[M];
            shot_sample_weights w[M];
            const size_t n = make_series(&random, t, y, at);
            assert_int_equal(WAYS[way].value(t, y, n, at, M, value), SHOT_OK);
            assert_int_equal(WAYS[way].weights(t, y, n, at, M, w), SHOT_OK);
            for (size_t k = 0; k < M; k++) {
                double sum = 0, total = 0, size = 1;
                assert_int_equal(w[k].count == 0, isnan(value[k]));
                for (size_t j = 0; j < w[k].count; j++) {
                    sum += w[k].weight[j] * y[w[k].first + j];
                    total += w[k].weight[j];
                    size = fmax(size, fabs(w[k].weight[j]));
                }
                if (w[k].count > 0) {
                    assert_close(sum, value[k], 1e-11 * size);
                    assert_close(total, 1, 1e-12 * size);
                }
            }
        }
}

/* A central difference over 2e-6 errs by the third derivative times 1e-12 and by rounding of 1e-16
 * over 1e-6; the cubic has corners where it turns, so differences that are not the same on both
 * sides are left out there. */
static void weights_are_derivatives(void **state) {
    const double step = 1e-6;
    shot_random random = shot_random_at(35, 2);
    size_t compared = 0;
    for (int round = 0; round < ROUNDS; round++)
        for (size_t way = 0; way < sizeof WAYS / sizeof *WAYS; way++) {
            double t[N], y[N], at[M], now[M], less[M], more[M];
            shot_sample_weights w[M];
            const size_t n = make_series(&random, t, y, at);
            const size_t i = (size_t)shot_random_below(&random, n);
            WAYS[way].weights(t, y, n, at, M, w);
            WAYS[way].value(t, y, n, at, M, now);
            y[i] -= step;
            WAYS[way].value(t, y, n, at, M, less);
            y[i] += 2 * step;
            WAYS[way].value(t, y, n, at, M, more);
            for (size_t k = 0; k < M; k++) {
                if (w[k].count == 0)
                    continue;
                const double below = (now[k] - less[k]) / step, above = (more[k] - now[k]) / step;
                const bool in = i >= w[k].first && i < w[k].first + w[k].count;
                const double weight = in ? w[k].weight[i - w[k].first] : 0;
                if (way == 1 && fabs(below - above) > 1e-4)
                    continue;
                assert_close((below + above) / 2, weight, 1e-4 * fmax(1, fabs(weight)));
                compared++;
            }
        }
    assert_true(compared > 20000);
}

static void bad_calls_are_refused(void **state) {
    const double t[] = {0, 1, 1}, y[] = {1, 2, 3}, at[] = {0.5, 0.2};
    for (size_t way = 0; way < sizeof WAYS / sizeof *WAYS; way++) {
        shot_sample_weights w[2];
        assert_int_equal(WAYS[way].weights(t, y, 3, at, 1, w), SHOT_ERR_RANGE);
        assert_int_equal(WAYS[way].weights(t, y, 2, at, 2, w), SHOT_ERR_RANGE);
        assert_int_equal(WAYS[way].weights(t, y, 0, at, 1, w), SHOT_OK);
        assert_int_equal(w[0].count, 0);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(weights_give_the_value_back),
        cmocka_unit_test(weights_are_derivatives),
        cmocka_unit_test(bad_calls_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
