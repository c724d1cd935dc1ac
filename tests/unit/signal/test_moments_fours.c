/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: polynomials found four side by side are to the bit those found one by one, where the
 * sums tell them and where they do not. */
#include <support/check.h>

#include <string.h>

#include <shottrace/signal/random.h>
#include <signal/moments_fours.h>

enum { MOST = 60, FOUR = 4 };

/* Times that rise, now and then so little that a window tells no cubic apart. */
static void fill(shot_random *random, double *t, double *y) {
    double now = shot_random_between(random, -5, 5);
    for (size_t i = 0; i < MOST; i++) {
        now += shot_random_chance(random, 0.1) ? 1e-9 : shot_random_between(random, 0.01, 0.2);
        t[i] = now;
        y[i] = shot_random_normal(random);
    }
}

/* Four windows that follow each other, of one length or of several. */
static void follow(shot_random *random, size_t order, const double *t, const double *y,
                   window_moments *window) {
    sliding_moments sums = {.order = order};
    const bool same = shot_random_chance(random, 0.5);
    size_t low = 0, high = 1 + (size_t)shot_random_below(random, 20);
    for (size_t i = 0; i < FOUR; i++) {
        const size_t goes = same ? i > 0 : (size_t)shot_random_below(random, 2);
        high += same ? goes : (size_t)shot_random_below(random, 3);
        low += low + 1 < high ? goes : 0;
        const shot_window_view view = {.t = t + low,
                                       .y = y + low,
                                       .n = high - low,
                                       .first = low,
                                       .at = t[low + (high - low) / 2],
                                       .centred = true};
        assert_int_equal(sliding_moments_follow(&sums, &view), SHOT_OK);
        sliding_moments_put(&sums, &view, &window[i]);
    }
    sliding_moments_free(&sums);
}

/* Whether the four were found; *good and *bad count those that the sums tell and do not. */
static bool check(const window_moments *window, size_t order, size_t derivative, size_t *good,
                  size_t *bad) {
    moments_value four[FOUR], one;
    if (!moments_fours_solve(window, order, derivative, four))
        return false;
    for (size_t i = 0; i < FOUR; i++) {
        sliding_moments_solve(&window[i], order, derivative, &one);
        assert_int_equal(four[i].good, one.good);
        *(one.good ? good : bad) += 1;
        if (one.good)
            assert_memory_equal(&four[i].is, &one.is, sizeof one.is);
    }
    return true;
}

static void four_are_as_one_by_one(void **state) {
    shot_random random = shot_random_at(41, 0);
    double t[MOST], y[MOST];
    size_t good = 0, bad = 0;
    for (size_t round = 0; round < 4000; round++) {
        const size_t order = round % (MOMENTS_HIGHEST_ORDER + 1);
        window_moments window[FOUR];
        fill(&random, t, y);
        follow(&random, order, t, y, window);
        bool found = false;
        for (size_t derivative = 0; derivative <= order; derivative++)
            found = check(window, order, derivative, &good, &bad) || found;
        if (order < 2) /* the plain way does */
            assert_false(found);
    }
    if (good > 0 || bad > 0) /* the processor has the vectors */
        assert_true(good > 4000 && bad > 400);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(four_are_as_one_by_one),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
