/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects what must hold for any input of the interpolants and of band-limited resampling: time
 * may run backwards, its unit and origin do not matter, nor do those of the values; sums pass as
 * sums where the method is linear; and a channel does not see its neighbours. */
#include <support/feed.h>

#include <stdio.h>
#include <stdlib.h>

#include <shottrace/signal/bandlimited.h>
#include <shottrace/signal/lagrange.h>
#include <shottrace/signal/linear.h>
#include <shottrace/signal/monotone_cubic.h>
#include <shottrace/signal/random.h>

typedef shot_status (*interpolant)(const double *t, const double *y, size_t n, const double *at,
                                   size_t m, double *value);

static const interpolant INTERPOLANTS[] = {shot_linear, shot_monotone_cubic, shot_lagrange};
enum { WAYS = 3, N = 40, M = 97, ROUNDS = 200 };

static void make_series(shot_random *random, double *t, double *y, double *at) {
    for (size_t i = 0; i < N; i++) {
        t[i] = (i > 0 ? t[i - 1] : 0) + exp(shot_random_normal(random));
        y[i] = shot_random_chance(random, 0.05)           ? NAN
               : shot_random_chance(random, 0.2) && i > 0 ? y[i - 1]
                                                          : shot_random_normal(random);
    }
    for (size_t k = 0; k < M; k++)
        at[k] = t[0] + (t[N - 1] - t[0]) * (double)k / (M - 1);
    at[M - 1] = t[N - 1];
}

static void check_same(const double *a, const double *b, size_t n, double tolerance) {
    for (size_t k = 0; k < n; k++) {
        assert_int_equal(isnan(a[k]), isnan(b[k]));
        if (!isnan(a[k]))
            assert_close(a[k], b[k], tolerance);
    }
}

static void time_may_run_backwards(void **state) {
    shot_random random = shot_random_at(30, 0);
    for (int round = 0; round < ROUNDS; round++)
        for (int way = 0; way < WAYS; way++) {
            double t[N], y[N], at[M], value[M], tr[N], yr[N], atr[M], back[M], turned[M];
            make_series(&random, t, y, at);
            for (size_t i = 0; i < N; i++) {
                tr[i] = -t[N - 1 - i];
                yr[i] = y[N - 1 - i];
            }
            for (size_t k = 0; k < M; k++)
                atr[k] = -at[M - 1 - k];
            assert_int_equal(INTERPOLANTS[way](t, y, N, at, M, value), SHOT_OK);
            assert_int_equal(INTERPOLANTS[way](tr, yr, N, atr, M, back), SHOT_OK);
            for (size_t k = 0; k < M; k++)
                turned[k] = back[M - 1 - k];
            /* the weights of eight uneven samples reach some thousands */
            check_same(value, turned, M, way == 2 ? 1e-9 : 1e-12);
        }
}

/* t to 3 t - 7 and y to 5 - 2 y, exact numbers times those of the series. */
static void units_and_origins_do_not_matter(void **state) {
    shot_random random = shot_random_at(31, 0);
    for (int round = 0; round < ROUNDS; round++)
        for (int way = 0; way < WAYS; way++) {
            double t[N], y[N], at[M], value[M], ts[N], ys[N], ats[M], scaled[M];
            make_series(&random, t, y, at);
            for (size_t i = 0; i < N; i++) {
                ts[i] = 3 * t[i] - 7;
                ys[i] = 5 - 2 * y[i];
            }
            for (size_t k = 0; k < M; k++)
                ats[k] = fmin(3 * at[k] - 7, ts[N - 1]);
            assert_int_equal(INTERPOLANTS[way](t, y, N, at, M, value), SHOT_OK);
            assert_int_equal(INTERPOLANTS[way](ts, ys, N, ats, M, scaled), SHOT_OK);
            for (size_t k = 0; k < M; k++)
                value[k] = 5 - 2 * value[k];
            check_same(value, scaled, M, way == 2 ? 1e-8 : 1e-10);
        }
}

static size_t resample(double ratio, const double *x, size_t n, double *y) {
    shot_bandlimited *b;
    assert_int_equal(shot_bandlimited_new(ratio, 0, SHOT_BANDLIMITED_DEFAULT, &b), SHOT_OK);
    size_t made = shot_bandlimited_push(b, x, n, y);
    made += shot_bandlimited_finish(b, y + made);
    shot_bandlimited_free(b);
    return made;
}

/* Sums pass as sums, and the run backwards is the result backwards where the first and the last
 * sample are outputs: also in runs shorter than the kernel, and in two steps. */
static void band_limited_resampling_is_linear_and_symmetric(void **state) {
    enum { MOST = 1921 };
    static double a[MOST], b[MOST], sum[MOST], back[MOST], ya[4 * MOST], yb[4 * MOST],
        ysum[4 * MOST], yback[4 * MOST];
    const struct {
        double ratio;
        size_t n;
    } cases[] = {{2, 301}, {0.5, 500}, {5, 1001}, {1.5, 31}, {48, 1921}, {0.75, 4}, {7, 8}};
    shot_random random = shot_random_at(32, 0);
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        const size_t n = cases[c].n;
        for (size_t i = 0; i < n; i++) {
            a[i] = shot_random_normal(&random);
            b[i] = shot_random_normal(&random);
            sum[i] = 2 * a[i] - b[i];
        }
        for (size_t i = 0; i < n; i++)
            back[i] = a[n - 1 - i];
        const size_t made = resample(cases[c].ratio, a, n, ya);
        assert_int_equal(resample(cases[c].ratio, b, n, yb), made);
        assert_int_equal(resample(cases[c].ratio, sum, n, ysum), made);
        assert_int_equal(resample(cases[c].ratio, back, n, yback), made);
        for (size_t k = 0; k < made; k++) {
            assert_close(ysum[k], 2 * ya[k] - yb[k], 1e-12);
            assert_close(yback[made - 1 - k], ya[k], 1e-12);
        }
    }
}

/* What is in other columns, and how many rows they add, changes nothing. */
static void a_channel_does_not_see_its_neighbours(void **state) {
    static const char *const chains[] = {"resample --rate 7 --method linear --max-gap 1s",
                                         "resample --rate 7 --max-gap 1s",
                                         "resample --rate 7 --method sinc --max-gap 1s"};
    shot_random random = shot_random_at(33, 0);
    for (int round = 0; round < 20; round++) {
        shot_text alone = {0}, beside = {0};
        shot_text_add(&alone, "time [s],pressure [bar]\n");
        shot_text_add(&beside, "time [s],weight [g],pressure [bar]\n");
        for (int i = 0; i < 300; i++) {
            const double t = round * 0.01 + i * 0.05;
            const int sample = i == 0 || i == 299 || shot_random_chance(&random, 0.5);
            const double y = shot_random_normal(&random);
            char row[80];
            snprintf(row, sizeof row, "%.17g,%.17g\n", t, y);
            if (sample)
                shot_text_add(&alone, row);
            snprintf(row, sizeof row, "%.17g,%d,", t, i);
            shot_text_add(&beside, row);
            if (sample) {
                snprintf(row, sizeof row, "%.17g", y);
                shot_text_add(&beside, row);
            }
            shot_text_add(&beside, "\n");
        }
        for (size_t k = 0; k < sizeof chains / sizeof *chains; k++) {
            feed one = feed_chain(chains[k], alone.bytes, alone.length, 0);
            feed two = feed_chain(chains[k], beside.bytes, beside.length, 0);
            assert_int_equal(one.status, SHOT_OK);
            assert_int_equal(two.status, SHOT_OK);
            char *rest_one = strstr(one.out.bytes, "\ntime"),
                 *rest_two = strstr(two.out.bytes, "\ntime");
            char *a = strtok_r(rest_one, "\n", &rest_one), *b = strtok_r(rest_two, "\n", &rest_two);
            while ((a = strtok_r(NULL, "\n", &rest_one)) != NULL && *a != '#') {
                b = strtok_r(NULL, "\n", &rest_two);
                assert_non_null(b);
                assert_string_equal(strrchr(a, ','), strrchr(b, ','));
            }
            feed_free(&one);
            feed_free(&two);
        }
        shot_text_free(&alone);
        shot_text_free(&beside);
    }
}

/* ---- standard errors ---- */

enum { SAMPLES = 60, PLACES = 400 };

/* One column of what a chain makes of y: SAMPLES samples at times t, noise told as 1. */
static size_t resampled(const char *chain, const double *t, const double *y, size_t column,
                        double *out) {
    shot_text in = {0};
    shot_text_add(&in, "# noise: pressure sd=1 corr=0s\ntime [s],pressure [bar]\n");
    for (size_t i = 0; i < SAMPLES; i++)
        shot_text_add_format(&in, "%.17g,%.17g\n", t[i], y[i]);
    feed got = feed_chain(chain, in.bytes, in.length, 0);
    assert_int_equal(got.status, SHOT_OK);
    size_t n = 0;
    char *row = strchr(strstr(got.out.bytes, "\ntime") + 1, '\n') + 1;
    for (; *row != '#'; row = strchr(row, '\n') + 1) {
        const char *field = row;
        for (size_t c = 0; c < column; c++)
            field = strchr(field, ',') + 1;
        assert_true(n < PLACES);
        out[n++] = strtod(field, NULL);
    }
    feed_free(&got);
    shot_text_free(&in);
    return n;
}

/* Where a method is linear, a lone sample of 1 among zeros shows its weight in every row; the root
 * of the sum of their squares is the standard error.  1e-12: rounding of numbers near 1. */
static void errors_are_those_of_the_weights(void **state) {
    static const char *const chains[] = {"resample --errors --rate 7 --method linear",
                                         "resample --errors --rate 33 --method linear",
                                         "resample --errors --rate 7 --method sinc",
                                         "resample --errors --rate 33 --method sinc",
                                         "resample --errors --rate 1.25 --method sinc",
                                         "resample --errors --rate 2.3 --method linear"};
    shot_random random = shot_random_at(37, 1);
    for (size_t k = 0; k < sizeof chains / sizeof *chains; k++)
        for (int even = 0; even < 2; even++) {
            double t[SAMPLES], y[SAMPLES] = {0}, se[PLACES], one[PLACES], sum[PLACES] = {0};
            for (size_t i = 0; i < SAMPLES; i++)
                t[i] = 0.05 * (double)i + (even ? 0 : 0.04 * shot_random_uniform(&random));
            const size_t n = resampled(chains[k], t, y, 2, se);
            for (size_t i = 0; i < SAMPLES; i++) {
                y[i] = 1;
                assert_int_equal(resampled(chains[k], t, y, 1, one), n);
                y[i] = 0;
                for (size_t r = 0; r < n; r++)
                    sum[r] += one[r] * one[r];
            }
            /* the last row of uneven samples may lie behind the last node, on a cubic */
            for (size_t r = 0; r + !even < n; r++)
                assert_rel(se[r], sqrt(sum[r]), 1e-12);
        }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(time_may_run_backwards),
        cmocka_unit_test(units_and_origins_do_not_matter),
        cmocka_unit_test(band_limited_resampling_is_linear_and_symmetric),
        cmocka_unit_test(a_channel_does_not_see_its_neighbours),
        cmocka_unit_test(errors_are_those_of_the_weights),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
