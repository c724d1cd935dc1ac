/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the streaming smoother gives SciPy's published vectors, does not depend on how rows
 * are cut, agrees on both its paths, passes polynomials, and says nothing where it knows nothing.
 */
#include <support/check.h>

#include <stdlib.h>

#include <shottrace/signal/local_fit.h>
#include <shottrace/signal/local_smoother.h>
#include <shottrace/signal/random.h>

/* Push in blocks of `block` rows (0: all at once), and take everything. */
static void smooth(const shot_local_smoother_shape *shape, const double *t, const double *y,
                   size_t n, size_t block, double *out) {
    shot_local_smoother *smoother;
    assert_int_equal(shot_local_smoother_new(shape, &smoother), SHOT_OK);
    for (size_t at = 0; at < n;) {
        size_t part = block == 0 || n - at < block ? n - at : block;
        assert_int_equal(shot_local_smoother_push(smoother, t + at, y + at, part), SHOT_OK);
        at += part;
    }
    assert_int_equal(shot_local_smoother_finish(smoother), SHOT_OK);
    assert_int_equal(shot_local_smoother_ready(smoother), n);
    shot_local_smoother_take(smoother, out, NULL, n);
    shot_local_smoother_free(smoother);
}

/* SciPy 1.10.1 savgol_filter, mode 'interp'; the first is the example of its documentation. */
static const double documented[] = {2, 2, 5, 2, 1, 0, 1, 4, 9};
static const double ramp[] = {0.1, 0.3, 0.9, 1.8, 2.9, 4.1, 5.2, 6.2, 7.1,
                              7.8, 8.3, 8.6, 8.8, 8.9, 9,   9,   9};
static const double ramp_slope[] = {3.25,           5.13095238095,
                                    7.0119047619,   8.89285714286,
                                    10.2142857143,  10.6071428571,
                                    10.1785714286,  9.10714285714,
                                    7.60714285714,  6,
                                    4.39285714286,  3,
                                    1.89285714286,  1.10714285714,
                                    0.511904761905, -0.0833333333333,
                                    -0.678571428571};
static const double documented_smooth[] = {58, 111, 124, 100, 23, 6, 35, 140, 315}; /* over 35 */

static void published_vectors(void **state) {
    double t[17], out[17];
    for (int i = 0; i < 17; i++)
        t[i] = i;
    shot_local_smoother_shape counted = {.window = 5, .counted = true, .order = 2};
    shot_local_smoother_shape timed = {.window = 4, .order = 2};
    for (size_t block = 0; block < 4; block++) {
        smooth(&counted, t, documented, 9, block, out);
        for (int i = 0; i < 9; i++)
            assert_close(out[i], documented_smooth[i] / 35, 1e-12);
        smooth(&timed, t, documented, 9, block, out);
        for (int i = 0; i < 9; i++)
            assert_close(out[i], documented_smooth[i] / 35, 1e-12);
    }
    for (int i = 0; i < 17; i++)
        t[i] = i / 10.0;
    shot_local_smoother_shape slope = {.window = 7, .counted = true, .order = 2, .derivative = 1};
    smooth(&slope, t, ramp, 17, 0, out);
    for (int i = 0; i < 17; i++)
        assert_close(out[i], ramp_slope[i], 1e-10); /* digits of the table */
}

/* External check: 5 nearest samples, parabola, exact rational arithmetic. */
static void uneven_times(void **state) {
    const double t[] = {0, 0.9, 2.1, 2.8, 4.2, 5, 6.3, 7.1, 7.9, 9.2};
    const double y[] = {1.2, 1.9, 3.1, 3.4, 4.8, 5.1, 5.9, 6.2, 6.1, 6};
    const double value[] = {1.199230769231, 1.937692307692, 2.945384615385, 3.585120853108,
                            4.639267714716, 5.219993290476, 5.871243758736, 6.127228970559,
                            6.204938603649, 5.970060772457};
    double out[10];
    shot_local_smoother_shape shape = {.window = 5, .counted = true, .order = 2};
    smooth(&shape, t, y, 10, 3, out);
    for (int i = 0; i < 10; i++)
        assert_close(out[i], value[i], 1e-11);
}

enum { N = 240 };

static void make(int index, double jitter, double missing, double *t, double *y) {
    shot_random random = shot_random_at(11, (uint64_t)index);
    for (int i = 0; i < N; i++) {
        t[i] = 0.1 * (i + jitter * (shot_random_uniform(&random) - 0.5));
        y[i] = shot_random_chance(&random, missing) ? NAN : shot_random_normal(&random);
    }
}

static void blocks_carry_no_meaning(void **state) {
    const shot_local_smoother_shape shapes[] = {
        {.window = 0.7, .order = 2},
        {.window = 11, .counted = true, .order = 3, .derivative = 1},
        {.window = 0.9, .order = 2, .fill = true},
        {.window = 7, .counted = true, .order = 2, .fill = true},
    };
    static double t[N], y[N], whole[N], cut[N];
    for (int trial = 0; trial < 40; trial++) {
        make(trial, trial % 2 ? 0.8 : 0, trial % 3 ? 0.15 : 0, t, y);
        const shot_local_smoother_shape *shape = &shapes[trial % 4];
        smooth(shape, t, y, N, 0, whole);
        for (size_t block = 1; block < 40; block += 6) {
            smooth(shape, t, y, N, block, cut);
            for (int i = 0; i < N; i++)
                assert_true(whole[i] == cut[i] || (isnan(whole[i]) && isnan(cut[i])));
        }
    }
}

/* Each row fitted from nothing: what the streaming form must equal. */
static double fitted_at(const double *t, const double *y, double row, double half, size_t order) {
    double low = fmax(row - half, t[0]), high = low + 2 * half;
    if (row + half > t[N - 1])
        low = fmax(t[0], t[N - 1] - 2 * half), high = t[N - 1];
    size_t begin = 0, end = 0;
    while (begin < N && t[begin] < low - 1e-9)
        begin++;
    end = begin;
    while (end < N && t[end] <= high + 1e-9)
        end++;
    shot_local_fit *fit;
    assert_int_equal(shot_local_fit_new(order, &fit), SHOT_OK);
    shot_local_fit_value value = {NAN, NAN};
    if (shot_local_fit_set(fit, t + begin, y + begin, end - begin, row, 0) == SHOT_OK)
        value = shot_local_fit_at(fit, row, 0);
    shot_local_fit_free(fit);
    return value.value;
}

/* Values of about 1: 1e-12 is what both paths promise to agree to. */
static void both_paths_equal_a_fit_from_nothing(void **state) {
    static double t[N], y[N], out[N];
    for (int trial = 0; trial < 8; trial++) {
        make(trial, trial % 2 ? 0.8 : 0, trial % 4 > 1 ? 0.2 : 0, t, y);
        shot_local_smoother_shape shape = {.window = 1, .order = 2};
        smooth(&shape, t, y, N, 17, out);
        for (int i = 0; i < N; i++)
            if (!isnan(y[i]))
                assert_close(out[i], fitted_at(t, y, t[i], 0.5, 2), 1e-12);
    }
}

static void polynomials_pass_and_missing_stays_missing(void **state) {
    static double t[N], y[N], out[N];
    make(3, 0.9, 0.2, t, y);
    for (int i = 0; i < N; i++)
        y[i] = isnan(y[i]) ? NAN : 1 + 0.3 * t[i] - 0.02 * t[i] * t[i];
    shot_local_smoother_shape shape = {.window = 1.5, .order = 2};
    smooth(&shape, t, y, N, 0, out);
    for (int i = 0; i < N; i++)
        assert_close(out[i], y[i], 1e-11); /* NaN equals NaN here */
    shape.fill = true;
    smooth(&shape, t, y, N, 0, out);
    for (int i = 0; i < N; i++)
        assert_close(out[i], 1 + 0.3 * t[i] - 0.02 * t[i] * t[i], 1e-10);
}

static void too_few_samples_give_no_value(void **state) {
    double t[] = {0, 0.1, 0.2, 5, 5.1, 5.2}, y[] = {1, NAN, 3, 4, 5, 6}, out[6];
    shot_local_smoother_shape timed = {.window = 0.3, .order = 2};
    smooth(&timed, t, y, 6, 0, out);
    assert_true(isnan(out[0]) && isnan(out[2])); /* two samples for a parabola */
    assert_close(out[4], 5, 1e-12);
    shot_local_smoother_shape counted = {.window = 7, .counted = true, .order = 2};
    smooth(&counted, t, y, 6, 0, out);
    for (int i = 0; i < 6; i++)
        assert_true(isnan(out[i])); /* the window is longer than the stream */
}

static void impossible_windows_are_refused(void **state) {
    const shot_local_smoother_shape shapes[] = {{.window = 0, .order = 2},
                                                {.window = 4, .counted = true, .order = 2},
                                                {.window = 3, .counted = true, .order = 3}};
    for (int i = 0; i < 3; i++) {
        shot_local_smoother *smoother;
        assert_int_equal(shot_local_smoother_new(&shapes[i], &smoother), SHOT_ERR_RANGE);
        assert_null(smoother);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(published_vectors),
        cmocka_unit_test(uneven_times),
        cmocka_unit_test(blocks_carry_no_meaning),
        cmocka_unit_test(both_paths_equal_a_fit_from_nothing),
        cmocka_unit_test(polynomials_pass_and_missing_stays_missing),
        cmocka_unit_test(too_few_samples_give_no_value),
        cmocka_unit_test(impossible_windows_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
