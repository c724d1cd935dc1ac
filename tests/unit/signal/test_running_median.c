/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the running median and MAD are those of each window, on even and uneven times and
 * beside holes; monotone stretches and edges survive, short spikes do not. */
#include <support/check.h>

#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/median.h>
#include <shottrace/signal/random.h>
#include <shottrace/signal/running_median.h>

enum { MOST = 600 };

static size_t drain(shot_running_median *running, shot_median_at *out) {
    size_t count = 0;
    for (bool ready = true; ready; count += ready)
        assert_int_equal(shot_running_median_next(running, out + count, &ready), SHOT_OK);
    return count;
}

static void run(shot_reach reach, const double *t, const double *y, size_t n, shot_median_at *out) {
    shot_running_median *running;
    assert_int_equal(shot_running_median_new(reach, SHOT_MISSING_SERVED, true, &running), SHOT_OK);
    for (int round = 0; round < 2; round++) {
        size_t count = 0;
        for (size_t i = 0; i < n; i++) {
            assert_int_equal(shot_running_median_push(running, t[i], y[i]), SHOT_OK);
            if (i % 5 == 4)
                count += drain(running, out + count);
        }
        shot_running_median_finish(running);
        count += drain(running, out + count);
        assert_int_equal(count, n);
        shot_running_median_reset(running);
    }
    shot_running_median_free(running);
}

static void check_medians(const double *x, size_t n, double half, const double *known) {
    double t[MOST];
    shot_median_at at[MOST + 1];
    for (size_t i = 0; i < n; i++)
        t[i] = (double)i;
    run((shot_reach){half, half, true}, t, x, n, at);
    for (size_t i = 0; i < n; i++)
        assert_close(at[i].median, known[i], 1e-12);
}

/* Worked by hand and with scipy.signal.medfilt (interior) and R runmed (median end rule differs at
 * the ends only). */
static void worked_vectors(void **state) {
    const double x[] = {2.1, 2.3, 2.2, 9.7, 2.4, 2.6, 2.5, 2.5, -4, 2.7, 2.8, 3.1, 3, 3.2};
    const double of_3[] = {2.2, 2.2, 2.3, 2.4, 2.6, 2.5, 2.5, 2.5, 2.5, 2.7, 2.8, 3, 3.1, 3.1};
    const double of_5[] = {2.2, 2.25, 2.3, 2.4, 2.5, 2.5, 2.5, 2.5, 2.5, 2.7, 2.8, 3, 3.05, 3.1};
    check_medians(x, 14, 1, of_3);
    check_medians(x, 14, 2, of_5);
    /* R 4.2.2, example of smooth(): runmed of 3 and 5, interior */
    const double tukey[] = {4, 1, 3, 6, 6, 4, 1, 6, 2, 4, 2};
    const double r3[] = {2.5, 3, 3, 6, 6, 4, 4, 2, 4, 2, 3};
    const double r5[] = {3, 3.5, 4, 4, 4, 6, 4, 4, 2, 3, 2};
    check_medians(tukey, 11, 1, r3);
    check_medians(tukey, 11, 2, r5);
}

/* Every window sorted on its own gives the same numbers, whatever the times, holes and ties. */
static void each_window_is_that_of_the_plain_median(void **state) {
    shot_random random = shot_random_at(5, 5);
    for (int trial = 0; trial < 60; trial++) {
        const size_t n = 1 + (size_t)shot_random_below(&random, MOST - 1);
        double t[MOST], y[MOST], now = 0;
        static shot_median_at at[MOST + 1];
        for (size_t i = 0; i < n; i++) {
            t[i] = now += shot_random_chance(&random, 0.01) ? 4 : 0.1;
            y[i] = shot_random_chance(&random, 0.2) ? NAN
                   : trial % 2                      ? (double)shot_random_below(&random, 6)
                                                    : shot_random_normal(&random);
        }
        const double reach = shot_random_between(&random, 0, 6);
        run((shot_reach){reach, reach, false}, t, y, n, at);
        for (size_t i = 0; i < n; i++) {
            double window[MOST], median;
            size_t held = 0;
            for (size_t j = 0; j < n; j++)
                if (fabs(t[j] - t[i]) <= reach * (1 + 1e-6))
                    window[held++] = y[j];
            const double mad = shot_median_mad(window, held, &median);
            assert_close(at[i].median, median, 1e-15 * fabs(median));
            assert_close(at[i].mad, mad, 2e-15 * (fabs(median) + fabs(mad)));
        }
    }
}

/* Gallagher & Wise 1981: monotone stretches and edges are roots of the filter; a spike shorter than
 * half of the window goes. */
static void edges_stay_and_spikes_go(void **state) {
    double t[60], y[60];
    shot_median_at at[61];
    for (size_t i = 0; i < 60; i++) {
        t[i] = (double)i;
        y[i] = i < 30 ? (double)i * (double)i : 900;
    }
    run((shot_reach){4, 4, true}, t, y, 60, at);
    for (size_t i = 4; i < 56; i++)
        assert_true(at[i].median == y[i]);
    for (size_t i = 0; i < 60; i++)
        y[i] = i >= 20 && i < 24 ? 50 : 1;
    run((shot_reach){4, 4, true}, t, y, 60, at);
    for (size_t i = 0; i < 60; i++)
        assert_true(at[i].median == 1);
}

/* A window that grows past what is held in an array goes on in a tree: the same medians before, at
 * and behind the change, compared with a sort of each window. */
static void long_windows_are_those_of_the_plain_median(void **state) {
    enum { N = 6000, HALF = 1500, EACH = 97 };
    static double t[N], y[N], window[N];
    static shot_median_at at[N + 1];
    shot_random random = shot_random_at(6, 6);
    for (size_t i = 0; i < N; i++) {
        t[i] = (double)i;
        y[i] = i % 3 ? shot_random_normal(&random) : (double)shot_random_below(&random, 3);
    }
    run((shot_reach){HALF, HALF, true}, t, y, N, at);
    for (size_t i = 0; i < N; i += EACH) {
        const size_t low = i < HALF ? 0 : i - HALF, high = i + HALF < N ? i + HALF + 1 : N;
        double median;
        memcpy(window, y + low, (high - low) * sizeof *window);
        const double mad = shot_median_mad(window, high - low, &median);
        assert_close(at[i].median, median, 1e-15 * fabs(median));
        assert_close(at[i].mad, mad, 2e-15 * (fabs(median) + fabs(mad)));
    }
}

static void nothing_but_holes_has_no_median(void **state) {
    const double t[] = {0, 1, 2}, y[] = {NAN, NAN, NAN};
    shot_median_at at[4];
    run((shot_reach){1, 1, true}, t, y, 3, at);
    for (size_t i = 0; i < 3; i++)
        assert_true(isnan(at[i].median) && isnan(at[i].mad) && at[i].n == 0);
    shot_running_median *running;
    assert_int_equal(
        shot_running_median_new((shot_reach){-1, 0, true}, SHOT_MISSING_SERVED, true, &running),
        SHOT_ERR_RANGE);
    assert_null(running);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(worked_vectors),
        cmocka_unit_test(each_window_is_that_of_the_plain_median),
        cmocka_unit_test(edges_stay_and_spikes_go),
        cmocka_unit_test(long_windows_are_those_of_the_plain_median),
        cmocka_unit_test(nothing_but_holes_has_no_median),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
