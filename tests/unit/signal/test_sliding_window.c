/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: which samples a window holds, by count and by time, at the ends, around gaps and on
 * grids whose stamps are rounded; and that feeding in any portions gives the same windows. */
#include <support/check.h>

#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/random.h>
#include <shottrace/signal/sliding_window.h>

enum { MOST = 400 };

typedef struct found {
    size_t first, n;
    double at, value;
    bool centred;
} found;

static size_t drain(shot_sliding_window *window, const double *t, const double *y, found *out) {
    shot_window_view view;
    size_t count = 0;
    while (shot_sliding_window_next(window, &view)) {
        for (size_t i = 0; i < view.n; i++) {
            assert_true(view.t[i] == t[view.first + i]);
            assert_true(view.y[i] == y[view.first + i]);
        }
        out[count++] = (found){view.first, view.n, view.at, view.value, view.centred};
    }
    return count;
}

/* Feed in portions of `portion` samples; all windows must come out, in order. */
static void slide(shot_reach reach, shot_ends ends, const double *t, const double *y, size_t n,
                  size_t portion, found *out) {
    shot_sliding_window *window;
    size_t count = 0;
    assert_int_equal(shot_sliding_window_new(reach, ends, SHOT_MISSING_SERVED, &window), SHOT_OK);
    for (int round = 0; round < 2; round++) { /* once more after reset */
        count = 0;
        for (size_t i = 0; i < n; i++) {
            assert_int_equal(shot_sliding_window_push(window, t[i], y[i]), SHOT_OK);
            if ((i + 1) % portion == 0)
                count += drain(window, t, y, out + count);
        }
        shot_sliding_window_finish(window);
        count += drain(window, t, y, out + count);
        assert_int_equal(count, n);
        shot_sliding_window_reset(window);
    }
    for (size_t i = 0; i < n; i++) {

        assert_true(out[i].at == t[i] && out[i].value == y[i]);
    }
    shot_sliding_window_free(window);
}

static void grid(double *t, double *y, size_t n, double step) {
    for (size_t i = 0; i < n; i++) {
        t[i] = (double)i * step;
        y[i] = (double)i;
    }
}

static void count_windows(void **state) {
    double t[9], y[9];
    found f[9];
    grid(t, y, 9, 0.1);
    slide((shot_reach){2, 1, true}, SHOT_ENDS_CUT, t, y, 9, 1, f);
    assert_true(f[0].first == 0 && f[0].n == 2 && !f[0].centred);
    assert_true(f[1].first == 0 && f[1].n == 3 && !f[1].centred);
    assert_true(f[2].first == 0 && f[2].n == 4 && f[2].centred);
    assert_true(f[7].first == 5 && f[7].n == 4 && f[7].centred);
    assert_true(f[8].first == 6 && f[8].n == 3 && !f[8].centred);
    slide((shot_reach){2, 1, true}, SHOT_ENDS_FULL, t, y, 9, 1, f);
    for (size_t i = 0; i < 9; i++) {
        const size_t first = i < 2 ? 0 : i > 7 ? 5 : i - 2;
        assert_true(f[i].first == first && f[i].n == 4 && f[i].centred == (i >= 2 && i <= 7));
    }
}

/* 0.7 s on a grid of 0.1 s is 7 samples everywhere, however the stamps round; on 0.05 s 15. */
static void time_windows_on_grids(void **state) {
    double t[MOST], y[MOST];
    found f[MOST];
    for (double start = 0; start < 1e5; start = 10 * start + 1) {
        grid(t, y, MOST, 0.1);
        for (size_t i = 0; i < MOST; i++)
            t[i] += start;
        slide((shot_reach){0.3, 0.3, false}, SHOT_ENDS_FULL, t, y, MOST, 1, f);
        for (size_t i = 0; i < MOST; i++)
            assert_int_equal(f[i].n, 7);
        grid(t, y, MOST, 0.05);
        slide((shot_reach){0.35, 0.35, false}, SHOT_ENDS_FULL, t, y, MOST, 1, f);
        for (size_t i = 0; i < MOST; i++)
            assert_int_equal(f[i].n, 15);
    }
}

/* After a gap a window in time holds what is there; one in samples reaches across. */
static void gaps(void **state) {
    const double t[] = {0, 1, 2, 3, 10, 11, 12, 13}, y[8] = {0};
    found f[8];
    slide((shot_reach){1, 1, false}, SHOT_ENDS_FULL, t, y, 8, 1, f);
    assert_true(f[3].first == 2 && f[3].n == 2 && f[3].centred);
    assert_true(f[4].first == 4 && f[4].n == 2 && f[4].centred);
    assert_true(f[0].first == 0 && f[0].n == 3 && !f[0].centred);
    assert_true(f[7].first == 5 && f[7].n == 3 && !f[7].centred);
    slide((shot_reach){1, 1, true}, SHOT_ENDS_FULL, t, y, 8, 1, f);
    assert_true(f[4].first == 3 && f[4].n == 3);
}

static void data_shorter_than_the_window_have_none(void **state) {
    const double t[] = {0, 1, 2}, y[] = {5, 6, 7};
    found f[3];
    slide((shot_reach){2, 2, true}, SHOT_ENDS_FULL, t, y, 3, 1, f);
    assert_true(f[0].n == 0 && f[1].n == 0 && f[2].n == 0);
    slide((shot_reach){1.5, 1.5, false}, SHOT_ENDS_FULL, t, y, 3, 1, f);
    assert_true(f[0].n == 0 && f[1].n == 0 && f[2].n == 0);
    slide((shot_reach){1.5, 1.5, false}, SHOT_ENDS_CUT, t, y, 3, 1, f);
    assert_true(f[0].n == 2 && f[1].n == 3 && f[2].n == 2);
    slide((shot_reach){0, 0, true}, SHOT_ENDS_FULL, t, y, 3, 1, f);
    assert_true(f[0].n == 1 && f[0].centred);
}

/* By definition, sample by sample: the reference that the sliding must agree with. */
static found defined(shot_reach reach, const double *t, size_t n, size_t centre, bool *full) {
    const double *edge = &reach.before;
    size_t low = centre, high = centre;
    if (reach.samples) {
        low = (double)centre > *edge ? centre - (size_t)*edge : 0;
        high = centre + (size_t)reach.after < n ? centre + (size_t)reach.after : n - 1;
        *full = centre >= (size_t)reach.before && centre + (size_t)reach.after < n;
    } else {
        while (low > 0 && t[low - 1] >= t[centre] - reach.before * (1 + 1e-6))
            low--;
        while (high + 1 < n && t[high + 1] <= t[centre] + reach.after * (1 + 1e-6))
            high++;
        *full = t[centre] - reach.before >= t[0] && t[centre] + reach.after <= t[n - 1];
    }
    return (found){.first = low, .n = high - low + 1};
}

static void check_against_definition(shot_reach reach, const double *t, const double *y, size_t n) {
    found cut[MOST], whole[MOST], rowwise[MOST];
    slide(reach, SHOT_ENDS_CUT, t, y, n, 1, cut);
    slide(reach, SHOT_ENDS_FULL, t, y, n, 1, rowwise);
    slide(reach, SHOT_ENDS_FULL, t, y, n, 17, whole);
    const double length = reach.before + reach.after;
    const bool fits = reach.samples ? (double)(n - 1) >= length : t[n - 1] - t[0] >= length;
    for (size_t i = 0; i < n; i++) {
        bool full;
        found want = defined(reach, t, n, i, &full), start, end;
        assert_true(cut[i].first == want.first && cut[i].n == want.n);
        assert_true(cut[i].centred == full && whole[i].centred == full);
        start = defined((shot_reach){0, length, reach.samples}, t, n, 0, &(bool){0});
        end = defined((shot_reach){length, 0, reach.samples}, t, n, n - 1, &(bool){0});
        if (!full)
            want = reach.samples ? ((double)i < reach.before ? start : end)
                                 : (t[i] - reach.before < t[0] ? start : end);
        if (!full && !fits)
            want.n = 0;
        assert_true(whole[i].n == want.n && (want.n == 0 || whole[i].first == want.first));
        assert_true(want.n == 0 || (whole[i].first <= i && i < whole[i].first + whole[i].n));
        assert_true(rowwise[i].n == whole[i].n && rowwise[i].centred == whole[i].centred);
    }
}

static void any_times_and_portions_give_the_defined_windows(void **state) {
    shot_random random = shot_random_at(77, 0);
    for (int trial = 0; trial < 300; trial++) {
        const size_t n = 1 + (size_t)shot_random_below(&random, MOST - 1);
        double t[MOST], y[MOST], now = shot_random_between(&random, -10, 10);
        for (size_t i = 0; i < n; i++) {
            now += shot_random_chance(&random, 0.02) ? 3 : shot_random_between(&random, 0.01, 0.2);
            t[i] = now;
            y[i] = shot_random_normal(&random);
        }
        const bool samples = trial % 2;
        shot_reach reach = {shot_random_between(&random, 0, 3), shot_random_between(&random, 0, 3),
                            samples};
        if (samples) {
            reach.before = floor(10 * reach.before);
            reach.after = floor(10 * reach.after);
        }
        check_against_definition(reach, t, y, n);
    }
}

/* The row that closes a window in time is the one on its edge, not the one after it. */
static void look_ahead_is_the_reach(void **state) {
    shot_sliding_window *window;
    shot_window_view view;
    assert_int_equal(shot_sliding_window_new((shot_reach){0.3, 0.3, false}, SHOT_ENDS_FULL,
                                             SHOT_MISSING_SERVED, &window),
                     SHOT_OK);
    for (int i = 0; i < 50; i++) {
        assert_int_equal(shot_sliding_window_push(window, 0.1 * i, 0), SHOT_OK);
        int ready = 0;
        while (shot_sliding_window_next(window, &view))
            ready++;
        assert_int_equal(ready, i < 6 ? 0 : i == 6 ? 4 : 1);
    }
    shot_sliding_window_free(window);
}

static void bad_calls_are_refused(void **state) {
    shot_sliding_window *window;
    const shot_reach bad[] = {{-1, 0, false}, {0, INFINITY, false}, {1.5, 1, true}, {NAN, 1, true}};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        assert_int_equal(
            shot_sliding_window_new(bad[i], SHOT_ENDS_CUT, SHOT_MISSING_SERVED, &window),
            SHOT_ERR_RANGE);
        assert_null(window);
    }
    assert_int_equal(shot_sliding_window_new((shot_reach){1, 1, true}, SHOT_ENDS_CUT,
                                             SHOT_MISSING_SERVED, &window),
                     SHOT_OK);
    assert_int_equal(shot_sliding_window_push(window, 1, 0), SHOT_OK);
    assert_int_equal(shot_sliding_window_push(window, 0.5, 0), SHOT_ERR_DATA);
    assert_int_equal(shot_sliding_window_push(window, NAN, 0), SHOT_ERR_DATA);
    assert_int_equal(shot_sliding_window_push(window, 1, 0), SHOT_OK);
    shot_sliding_window_free(window);
    shot_sliding_window_free(NULL);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(count_windows),
        cmocka_unit_test(time_windows_on_grids),
        cmocka_unit_test(gaps),
        cmocka_unit_test(data_shorter_than_the_window_have_none),
        cmocka_unit_test(any_times_and_portions_give_the_defined_windows),
        cmocka_unit_test(look_ahead_is_the_reach),
        cmocka_unit_test(bad_calls_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
