/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: scatter within blocks and from block to block, and the difference of sets with blocks
 * of their own. */
#include <support/check.h>

#include <shottrace/signal/nested_moments.h>
#include <shottrace/signal/random.h>

enum { BATCHES = 6, OF_EACH = 5, ALL = BATCHES * OF_EACH };

/* Yield of dyestuff of six batches: Davies & Goldsmith 1972, 'Statistical Methods in Research and
 * Production', 4th ed., table 6.1. */
static const double dyestuff[ALL] = {1545, 1440, 1440, 1520, 1580, 1540, 1555, 1490, 1560, 1495,
                                     1595, 1550, 1605, 1510, 1560, 1445, 1440, 1595, 1465, 1545,
                                     1595, 1630, 1515, 1635, 1625, 1520, 1455, 1450, 1480, 1445};

static shot_nested_moments moments(const double *y, size_t n) {
    size_t batch[ALL];
    shot_nested_moments m;
    for (size_t i = 0; i < n; i++)
        batch[i] = i / OF_EACH;
    assert_int_equal(shot_nested_moments_find(y, batch, BATCHES, n, &m), SHOT_OK);
    return m;
}

/* The components are the published ones, 1764 and 2451; the intervals are from R 4.2.2 (qf,
 * qchisq). */
static void parts_of_the_dyestuff(void **state) {
    const shot_nested_moments m = moments(dyestuff, ALL);
    shot_nested_scatter s;
    assert_int_equal(shot_nested_scatter_find(&m, 0.95, &s), SHOT_OK);
    assert_rel(s.within * s.within, 2451.25, 1e-12);
    assert_rel(s.between * s.between, 1764.05, 1e-12);
    assert_rel(s.between_low, 16.605003929787, 1e-9);
    assert_rel(s.between_high, 114.414122994949, 1e-9);
    assert_rel(s.overall, 64.9253417395704, 1e-12);
    assert_rel(s.overall_df, 15.1017317818775, 1e-12);
    assert_rel(s.overall_low, 51.3887213163988, 1e-9);
    assert_rel(s.overall_high, 125.176400680705, 1e-9);
    assert_rel(s.p, 0.0043975, 1e-4);
}

/* Batches of one size: the t test of their means (R, t.test with var.equal). */
static void blocks_of_one_size_are_the_test_of_their_means(void **state) {
    const shot_nested_moments a = moments(dyestuff, 20), b = moments(dyestuff + 20, 10);
    shot_t_test test;
    assert_int_equal(shot_nested_difference_find(&a, &b, 0.95, &test), SHOT_OK);
    assert_rel(test.difference, -11.25, 1e-12);
    assert_rel(test.df, 4, 1e-12);
    assert_rel(test.p, 0.817379496568, 1e-10);
    assert_rel(test.low, -137.929111217014, 1e-10);
}

/* A block of two against four of five: worked out in R from the formula. */
static void a_smaller_block_is_less_sure(void **state) {
    const double two[] = {1600, 1620};
    const shot_nested_moments a = moments(two, 2), b = moments(dyestuff, 20);
    shot_t_test test;
    assert_int_equal(shot_nested_difference_find(&a, &b, 0.95, &test), SHOT_OK);
    assert_rel(test.difference, 86.25, 1e-12);
    assert_rel(test.se, 43.618879142489, 1e-12);
    assert_rel(test.df, 8.14137733622116, 1e-12);
    assert_rel(test.p, 0.0827651424794402, 1e-10);
}

/* Five days of four, days that scatter as values do: 95 % of the intervals hold each part. */
static void intervals_hold_the_parts(void **state) {
    enum { RUNS = 2000, DAYS = 5, A_DAY = 4 };
    int within = 0, between = 0, overall = 0;
    for (int run = 0; run < RUNS; run++) {
        shot_random random = shot_random_at(12, (uint64_t)run);
        double y[DAYS * A_DAY];
        size_t day[DAYS * A_DAY];
        shot_nested_moments m;
        shot_nested_scatter s;
        for (size_t d = 0; d < DAYS; d++) {
            const double level = shot_random_normal(&random);
            for (size_t i = d * A_DAY; i < (d + 1) * A_DAY; i++) {
                day[i] = d;
                y[i] = 20 + level + shot_random_normal(&random);
            }
        }
        assert_int_equal(shot_nested_moments_find(y, day, DAYS, DAYS * A_DAY, &m), SHOT_OK);
        assert_int_equal(shot_nested_scatter_find(&m, 0.95, &s), SHOT_OK);
        within += s.within_low <= 1 && 1 <= s.within_high;
        between += s.between_low <= 1 && 1 <= s.between_high;
        overall += s.overall_low <= sqrt(2) && sqrt(2) <= s.overall_high;
    }
    const double error = 4 * sqrt(0.95 * 0.05 / RUNS);
    assert_close((double)within / RUNS, 0.95, error);
    assert_close((double)between / RUNS, 0.95, error);
    assert_close((double)overall / RUNS, 0.95, 0.02); /* no exact one */
}

static void what_cannot_be_told_is_refused(void **state) {
    const double y[] = {1, 2, NAN, 4};
    const size_t one[] = {0, 0, 0, 0}, each[] = {0, 1, 2, 3}, wrong[] = {0, 0, 4, 0};
    shot_nested_moments m, none;
    shot_nested_scatter s;
    shot_t_test test;
    assert_int_equal(shot_nested_moments_find(y, wrong, 4, 4, &m), SHOT_ERR_RANGE);
    assert_int_equal(shot_nested_moments_find(y, one, 4, 4, &m), SHOT_OK);
    assert_int_equal(m.n, 3);
    assert_int_equal(m.blocks, 1);
    assert_int_equal(shot_nested_scatter_find(&m, 0.95, &s), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_nested_difference_find(&m, &m, 0.95, &test), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_nested_moments_find(y, each, 4, 4, &m), SHOT_OK);
    assert_int_equal(m.blocks, 3);
    assert_int_equal(shot_nested_scatter_find(&m, 0.95, &s), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_nested_scatter_find(&m, 1, &s), SHOT_ERR_RANGE);
    assert_int_equal(shot_nested_moments_find(y, each, 4, 0, &none), SHOT_OK);
    assert_true(isnan(none.mean));
    assert_int_equal(shot_nested_difference_find(&m, &none, 0.95, &test), SHOT_ERR_SINGULAR);
    /* a value a block: they are the values themselves */
    assert_int_equal(shot_nested_difference_find(&m, &m, 0.95, &test), SHOT_OK);
    assert_rel(test.df, 4, 1e-12);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(parts_of_the_dyestuff),
        cmocka_unit_test(blocks_of_one_size_are_the_test_of_their_means),
        cmocka_unit_test(a_smaller_block_is_less_sure),
        cmocka_unit_test(intervals_hold_the_parts),
        cmocka_unit_test(what_cannot_be_told_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
