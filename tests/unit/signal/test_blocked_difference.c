/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what a day does to all of its shots, and a drift over the day, is not in the difference
 * of two groups. */
#include <support/check.h>

#include <shottrace/signal/blocked_difference.h>
#include <shottrace/signal/random.h>

/* R 4.2.2, lm(y ~ group + day + order), confint and sigma. */
static void days_and_order_as_in_r(void **state) {
    const double y[] = {11.2, 10.4, 11.9, 10.9, 11.6, 12.8, 12.1, 13.3,
                        12.7, 9.9,  9.1,  10.2, 9.8,  10.6, 9.7};
    const bool second[] = {0, 1, 0, 1, 0, 1, 0, 1, 0, 0, 1, 1, 0, 0, 1};
    const size_t day[] = {0, 0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2, 2, 2};
    double order[15], clock[15];
    for (int i = 0; i < 15; i++) {
        order[i] = i + 1;
        clock[i] = 1.7e9 + 600 * i;
    }
    shot_blocked_difference d, later;
    assert_int_equal(shot_blocked_difference_find(y, second, day, 3, order, 15, 0.95, &d), SHOT_OK);
    assert_true(d.drift);
    assert_int_equal(d.blocks, 3);
    assert_rel(d.test.difference, 0.2841666666667, 1e-12);
    assert_rel(d.test.se, 0.2725412812768, 1e-12);
    assert_rel(d.test.p, 0.321658656644, 1e-10);
    assert_rel(d.test.low, -0.323093150916, 1e-10);
    assert_rel(d.test.high, 0.89142648425, 1e-10);
    assert_rel(d.sd, 0.523698386478, 1e-11);
    /* a clock in the place of the order */
    assert_int_equal(shot_blocked_difference_find(y, second, day, 3, clock, 15, 0.95, &later),
                     SHOT_OK);
    assert_rel(later.test.se, d.test.se, 1e-9);
    assert_int_equal(shot_blocked_difference_find(y, second, day, 3, NULL, 15, 0.95, &d), SHOT_OK);
    assert_rel(d.test.difference, 0.297297297297, 1e-11);
    assert_rel(d.test.p, 0.300605913405, 1e-10);
    assert_rel(d.test.high, 0.89969710812, 1e-10);
    assert_rel(d.within, 1, 0.05); /* both groups on each day, nearly as many */
}

/* One of each a day, the first one always first: the paired test (R 4.2.2, t.test). */
static void one_of_each_a_day_is_the_paired_test(void **state) {
    const double y[] = {5.1, 4.2, 6.3, 5.9, 4.8, 4.1, 5.5, 4.9};
    const bool second[] = {0, 1, 0, 1, 0, 1, 0, 1};
    const size_t day[] = {0, 0, 1, 1, 2, 2, 3, 3};
    const double order[] = {0, 1, 2, 3, 4, 5, 6, 7};
    shot_blocked_difference d;
    assert_int_equal(shot_blocked_difference_find(y, second, day, 4, order, 8, 0.95, &d), SHOT_OK);
    assert_false(d.drift);
    assert_rel(d.test.t, 6.244997998, 1e-9);
    assert_rel(d.test.p, 0.00828266908, 1e-8);
    assert_rel(d.test.low, 0.318760486558, 1e-9);
}

static void what_cannot_be_told_is_refused(void **state) {
    const double y[] = {5.1, 4.2, 6.3, NAN, 4.8, 4.1}, flat[] = {1, 1, 1, 1, 1, 1};
    const bool nested[] = {0, 0, 0, 1, 1, 1}, turns[] = {0, 1, 0, 1, 0, 1};
    const size_t day[] = {0, 0, 0, 1, 1, 1}, wrong[] = {0, 0, 0, 0, 0, 2};
    shot_blocked_difference d = {.sd = 7};
    assert_int_equal(shot_blocked_difference_find(y, nested, day, 2, NULL, 6, 0.95, &d),
                     SHOT_ERR_SINGULAR);
    assert_int_equal(shot_blocked_difference_find(flat, turns, day, 2, NULL, 6, 0.95, &d),
                     SHOT_ERR_SINGULAR);
    assert_int_equal(shot_blocked_difference_find(y, turns, wrong, 2, NULL, 6, 0.95, &d),
                     SHOT_ERR_RANGE);
    assert_int_equal(shot_blocked_difference_find(y, turns, day, 2, NULL, 6, 1, &d),
                     SHOT_ERR_RANGE);
    assert_int_equal(shot_blocked_difference_find(y, turns, day, 2, NULL, 0, 0.95, &d),
                     SHOT_ERR_SINGULAR);
    assert_true(d.sd == 7);
    assert_int_equal(shot_blocked_difference_find(y, turns, NULL, 1, NULL, 6, 0.95, &d), SHOT_OK);
    assert_true(d.test.df == 3); /* five values */
}

/* Days twice as far apart as shots, a drift within each, no difference: the interval holds 0 in 95
 * % within four standard errors of the count; the same values as one lot would hold it in 99 %. */
static void interval_covers_over_days_and_drift(void **state) {
    enum { RUNS = 2000, DAYS = 4, A_DAY = 4, N = DAYS * A_DAY };
    int covered = 0;
    for (int run = 0; run < RUNS; run++) {
        shot_random random = shot_random_at(91, (uint64_t)run);
        double y[N], order[N];
        bool second[N];
        size_t day[N];
        for (size_t i = 0, of_day = 0; of_day < DAYS; of_day++) {
            const double level = 2 * shot_random_normal(&random);
            for (size_t k = 0; k < A_DAY; k++, i++) {
                day[i] = of_day;
                order[i] = (double)i;
                second[i] = (k + of_day) % 2;
                y[i] = level + 0.5 * (double)k + shot_random_normal(&random);
            }
        }
        shot_blocked_difference d;
        assert_int_equal(shot_blocked_difference_find(y, second, day, DAYS, order, N, 0.95, &d),
                         SHOT_OK);
        covered += d.test.low <= 0 && d.test.high >= 0;
    }
    assert_close((double)covered / RUNS, 0.95, 4 * sqrt(0.95 * 0.05 / RUNS));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(days_and_order_as_in_r),
        cmocka_unit_test(one_of_each_a_day_is_the_paired_test),
        cmocka_unit_test(what_cannot_be_told_is_refused),
        cmocka_unit_test(interval_covers_over_days_and_drift),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
