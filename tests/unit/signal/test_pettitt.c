/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the change of level of a short series, its place and its false alarms. */
#include <support/check.h>

#include <shottrace/signal/pettitt.h>
#include <shottrace/signal/random.h>

/* By hand: 1 2 3 | 7 8 9 10 - every pair across the change agrees, k = 3 * 4.  Of the 7 factorial
 * orders only those with the three smallest (or largest) three or four at an end reach 12: three
 * smallest first, three smallest last, and by symmetry of |U| the other cut: three largest first,
 * three largest last; p = 4 / C(7,3) less the overlaps, of which there are 2 * (3 smallest first
 * and 3 largest last): 4/35 - 2 * 3! 3! / 7! = 0.1 exactly. */
static void a_clear_change_is_placed(void **state) {
    const double y[] = {2, NAN, 1, 3, 8, 7, NAN, 10, 9};
    shot_pettitt change;
    assert_int_equal(shot_pettitt_find(y, 9, 20000, 1, &change), SHOT_OK);
    assert_rel(change.k, 12, 0);
    assert_int_equal(change.first, 4);
    assert_rel(change.before, 2, 0);
    assert_rel(change.after, 8.5, 0);
    assert_close(change.p, 0.1, 4 * change.se);
}

/* The chance of a false alarm at 5 % stays there: 1000 series of 12, binomial error 0.0069. */
static void false_alarms_stay_at_their_level(void **state) {
    enum { RUNS = 1000, N = 12 };
    int alarms = 0, found = 0;
    for (uint64_t run = 0; run < RUNS; run++) {
        shot_random random = shot_random_at(17, run);
        double y[N];
        for (int i = 0; i < N; i++)
            y[i] = shot_random_normal(&random);
        shot_pettitt change;
        assert_int_equal(shot_pettitt_find(y, N, 500, run, &change), SHOT_OK);
        alarms += change.p <= 0.05;
        for (int i = 6; i < N; i++)
            y[i] += 4;
        assert_int_equal(shot_pettitt_find(y, N, 500, run, &change), SHOT_OK);
        found += change.p <= 0.05 && change.first == 6;
    }
    assert_true((double)alarms / RUNS <= 0.05 + 4 * sqrt(0.05 * 0.95 / RUNS));
    assert_true(alarms > 0);
    assert_true((double)found / RUNS > 0.9); /* four sigma: hardly a value lies across */
}

static void constant_and_short_series_have_no_change(void **state) {
    shot_pettitt change;
    assert_int_equal(shot_pettitt_find((double[]){3, 3, 3, 3}, 4, 100, 1, &change), SHOT_OK);
    assert_rel(change.p, 1, 0);
    assert_int_equal(shot_pettitt_find((double[]){3, NAN, 1, 2}, 4, 100, 1, &change),
                     SHOT_ERR_SINGULAR);
    assert_int_equal(shot_pettitt_find((double[]){3, 4, 1, 2}, 4, 0, 1, &change), SHOT_ERR_RANGE);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_clear_change_is_placed),
        cmocka_unit_test(false_alarms_stay_at_their_level),
        cmocka_unit_test(constant_and_short_series_have_no_change),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
