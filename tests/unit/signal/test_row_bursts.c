/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: sixteen rows seen at once leave the same, to the bit, as seen one by one, and are left
 * alone where one of them has the time of the row before it as far as anyone can tell. */
#include <support/check.h>

#include <shottrace/signal/random.h>
#include <signal/row_bursts.h>

enum { N = ROW_BURSTS_SPACINGS, ROWS = 40 * N };

/* A logger that gets its rows several at once, and one that does not, in turn. */
static void make_times(shot_random *random, double *t) {
    double now = 0;
    bool bursty = false;
    for (size_t i = 0; i < ROWS; i++) {
        if (i % (4 * N) == 0)
            bursty = shot_random_chance(random, 0.5);
        const bool soon = bursty && shot_random_chance(random, 0.5);
        now += soon ? 0.001 * (double)shot_random_below(random, 3) : 0.1;
        t[i] = now;
    }
}

static bool are_rows(const row_bursts *bursts, const double *t) {
    row_bursts walk = *bursts;
    for (size_t i = 0; i < N; i++) {
        if (!(t[i] - t[(ptrdiff_t)i - 1] > walk.near))
            return false;
        row_bursts_see(&walk, t[(ptrdiff_t)i - 1], t[i]);
    }
    return true;
}

static void as_one_by_one(void **state) {
    size_t seen = 0, left = 0;
    for (uint64_t seed = 0; seed < 20; seed++) {
        shot_random random = shot_random_at(94, seed);
        double t[ROWS];
        row_bursts one = {0}, all;
        make_times(&random, t);
        row_bursts_see(&one, 0, t[0]);
        for (size_t i = 1; i + N <= ROWS; i += N) {
            all = one;
            const bool rows = are_rows(&one, t + i);
            assert_true(row_bursts_see_all(&all, t + i) == rows);
            for (size_t k = i; k < i + N; k++)
                row_bursts_see(&one, t[k - 1], t[k]);
            if (rows)
                assert_memory_equal(&all, &one, sizeof one);
            seen += rows;
            left += !rows;
        }
    }
    assert_true(seen > 100 && left > 100);
    row_bursts amid = {.rows = 2};
    const double t[N + 1] = {0};
    assert_false(row_bursts_see_all(&amid, t + 1)); /* not where it was settled */
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(as_one_by_one),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
