/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the peak of a sweep, its honest interval, and the tests that go before it. */
#include <support/check.h>
#include <support/oats.h>

#include <shottrace/signal/random.h>
#include <shottrace/signal/vertex.h>

/* Made for this test: three flows at each of five pressures; all answers from R 4.2.2 (lm, anova,
 * and the roots of Fieller's quadratic).  1e-9: they were given to 10 to 15 digits. */
static const double pressure[] = {7, 7, 7, 8, 8, 8, 9, 9, 9, 10, 10, 10, 11, 11, 11};
static const double flow[] = {1.60, 1.66, 1.63, 1.86, 1.83, 1.89, 1.95, 1.91,
                              1.97, 1.87, 1.92, 1.85, 1.68, 1.71, 1.66};

static void reference_sweep_is_reproduced(void **state) {
    shot_vertex v;
    assert_int_equal(shot_vertex_fit(pressure, flow, NULL, 15, 0.95, &v), SHOT_OK);
    assert_rel(v.b[0], -3.95752380952381, 1e-9);
    assert_rel(v.b[1], 1.29838095238095, 1e-9);
    assert_rel(v.b[2], -1.0 / 14, 1e-9);
    assert_rel(v.sd, 0.0279795843939327, 1e-9);
    assert_rel(v.df, 12, 0);
    assert_rel(v.v11, 0.00606527891157, 1e-9);
    assert_rel(v.v12, -0.000335510204082, 1e-9);
    assert_rel(v.v22, 0.0000186394557823, 1e-9);
    assert_true(v.peak);
    assert_rel(v.place, 13633.0 / 1500, 1e-9);
    assert_rel(v.height, 1.94275203174603, 1e-9);
    assert_rel(v.se, 0.0361578257294542, 1e-9);
    assert_rel(v.delta_low, 9.00988553207, 1e-9);
    assert_rel(v.delta_high, 9.16744780126, 1e-9);
    assert_int_equal(v.bounds, SHOT_VERTEX_BOUNDED);
    assert_rel(v.low, 9.01074285535, 1e-9);
    assert_rel(v.high, 9.16972028572, 1e-9);
    assert_rel(v.g, 0.0173431966, 1e-8);
}

static void reference_sweep_has_no_lack_of_fit(void **state) {
    shot_vertex v;
    assert_int_equal(shot_vertex_fit(pressure, flow, NULL, 15, 0.95, &v), SHOT_OK);
    assert_int_equal(v.levels, 5);
    assert_rel(v.lack_df1, 2, 0);
    assert_rel(v.lack_df2, 10, 0);
    /* RSS 0.00939428571429 against a pure error of 0.00933333333333. */
    assert_rel(v.lack_f, (0.00939428571429 - 0.00933333333333) / 2 / (0.00933333333333 / 10), 1e-6);
    assert_close(v.lack_p, 0.96798, 5e-6);
    assert_true(v.bend_p < 1e-8);
    assert_true(v.inside_p < 1e-8);
}

/* A valley is no peak; the tests say so too. */
static void a_valley_is_no_peak(void **state) {
    double turned[15];
    for (int i = 0; i < 15; i++)
        turned[i] = -flow[i];
    shot_vertex v;
    assert_int_equal(shot_vertex_fit(pressure, turned, NULL, 15, 0.95, &v), SHOT_OK);
    assert_false(v.peak);
    assert_true(isnan(v.place) && isnan(v.low));
    assert_true(v.bend_p > 0.99 && v.inside_p > 0.99);
}

/* Nearly a line with noise: the bend is not shown, so the interval is not bounded. */
static void a_line_has_an_unbounded_interval(void **state) {
    const double x[] = {7, 8, 9, 10, 11, 7, 8, 9, 10, 11};
    const double rising[] = {1.0, 1.21, 1.41, 1.61, 1.80, 1.02, 1.19, 1.41, 1.60, 1.79};
    const double flat[] = {1.0, 1.3, 1.0, 1.2, 1.0, 1.1, 0.9, 1.2, 1.1, 1.0};
    shot_vertex v;
    assert_int_equal(shot_vertex_fit(x, rising, NULL, 10, 0.95, &v), SHOT_OK);
    assert_true(v.g > 1);
    assert_int_equal(v.bounds, SHOT_VERTEX_RAYS);
    assert_true(v.low < 9 && v.high > 9); /* the middle of the sweep is excluded: it rises there */
    assert_true(v.inside_p > 0.5);
    assert_int_equal(shot_vertex_fit(x, flat, NULL, 10, 0.95, &v), SHOT_OK);
    assert_true(v.peak);
    assert_int_equal(v.bounds, SHOT_VERTEX_EVERYWHERE);
}

static void the_order_of_points_and_missing_ones_do_not_matter(void **state) {
    double x[17], y[17];
    for (int i = 0; i < 15; i++) {
        x[i] = pressure[(i * 7) % 15];
        y[i] = flow[(i * 7) % 15];
    }
    x[15] = NAN, y[15] = 1;
    x[16] = 9, y[16] = NAN;
    shot_vertex v;
    assert_int_equal(shot_vertex_fit(x, y, NULL, 17, 0.95, &v), SHOT_OK);
    assert_int_equal(v.n, 15);
    assert_rel(v.place, 13633.0 / 1500, 1e-9);
    assert_rel(v.low, 9.01074285535, 1e-9);
}

static void sweeps_without_an_answer_are_refused(void **state) {
    shot_vertex v;
    assert_int_equal(shot_vertex_fit(pressure, flow, NULL, 3, 0.95, &v), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_vertex_fit(pressure, flow, NULL, 6, 0.95, &v),
                     SHOT_ERR_SINGULAR); /* 2 levels */
    assert_int_equal(shot_vertex_fit(pressure, flow, NULL, 0, 0.95, &v), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_vertex_fit(pressure, flow, NULL, 15, 0, &v), SHOT_ERR_RANGE);
}

/* Coverage of Fieller's set over parabolas with their vertex anywhere in the sweep: 95 % of 4000,
 * binomial error 0.0034, four of them allowed.  The few sweeps that show no peak have no set. */
static void fieller_covers_the_true_vertex(void **state) {
    int counted = 0, covered = 0;
    for (uint64_t run = 0; run < 4000; run++) {
        shot_random random = shot_random_at(23, run);
        double vertex = shot_random_between(&random, 7, 11), y[15];
        for (int i = 0; i < 15; i++)
            y[i] = -0.07 * pow(pressure[i] - vertex, 2) + 0.05 * shot_random_normal(&random);
        shot_vertex v;
        assert_int_equal(shot_vertex_fit(pressure, y, NULL, 15, 0.95, &v), SHOT_OK);
        if (!v.peak)
            continue;
        bool between = v.low <= vertex && vertex <= v.high;
        counted++;
        covered += v.bounds == SHOT_VERTEX_RAYS ? !between : between;
    }
    assert_true(counted > 3900);
    assert_close((double)covered / counted, 0.95, 4 * sqrt(0.05 * 0.95 / counted));
}

/* R 4.2.2, lm(Y ~ N + I(N^2) + B) and its anova() against lm(Y ~ factor(N) + B). */
static void blocks_are_at_levels_of_their_own_as_in_r(void **state) {
    const oats_plots all = oats_without(NULL, 0), some = oats_without(oats_lost, OATS_LOST);
    shot_vertex v;
    assert_int_equal(shot_vertex_fit(all.nitrogen, all.y, all.block, all.n, 0.95, &v), SHOT_OK);
    assert_rel(v.b[1], 112.4166666667, 1e-10);
    assert_rel(v.b[2], -64.5833333333, 1e-10);
    assert_rel(v.v11, 855.679868345, 1e-9);
    assert_rel(v.v12, -1309.7140842, 1e-9);
    assert_rel(v.v22, 2182.8568070, 1e-9);
    assert_rel(v.sd, 15.8576512815, 1e-10);
    assert_rel(v.df, 64, 0);
    assert_rel(v.lack_df2, 63, 0);
    assert_rel(v.lack_p, 0.90587, 1e-5);
    /* complete blocks: the level is that of all values */
    assert_rel(v.b[0] + v.b[1] * 0.3 + v.b[2] * 0.14, 103.972222222222, 1e-10);
    assert_int_equal(shot_vertex_fit(some.nitrogen, some.y, some.block, some.n, 0.95, &v), SHOT_OK);
    assert_rel(v.b[1], 113.3215753142, 1e-10);
    assert_rel(v.v12, -1850.6800157905, 1e-9);
    assert_rel(v.sd, 16.9956636350, 1e-10);
    assert_rel(v.lack_f, 0.0485979341648, 1e-8);
    assert_rel(v.lack_p, 0.8263844288785, 1e-8);
    /* one level to a block: the curve is the blocks' */
    assert_int_equal(shot_vertex_fit(all.nitrogen, all.y, all.setting, all.n, 0.95, &v),
                     SHOT_ERR_SINGULAR);
}

/* Protects: years of days, each at a level of its own, are no more work than one (with a column for
 * each these are 288 MB and a minute): complete blocks, wherever they lie, leave the curve as it
 * was. */
static void thousands_of_blocks_leave_the_curve(void **state) {
    enum { BLOCKS = 3000, POINTS = 4 * BLOCKS };
    static double x[POINTS], y[POINTS], raised[POINTS];
    static size_t block[POINTS];
    for (size_t i = 0; i < POINTS; i++) {
        block[i] = i / 4;
        x[i] = 6 + 2 * (double)(i % 4);
        y[i] = 60 - (x[i] - 9.5) * (x[i] - 9.5) / 2 + 0.1 * (double)(i * 7 % 13);
        raised[i] = y[i] + 9 * (double)(block[i] % 5) - 18;
    }
    shot_vertex plain, blocked;
    assert_int_equal(shot_vertex_fit(x, y, NULL, POINTS, 0.95, &plain), SHOT_OK);
    assert_int_equal(shot_vertex_fit(x, raised, block, POINTS, 0.95, &blocked), SHOT_OK);
    for (size_t k = 0; k < 3; k++)
        assert_rel(blocked.b[k], plain.b[k], 1e-9);
    assert_rel(blocked.df, POINTS - BLOCKS - 2, 0);
    assert_rel(blocked.lack_df2, POINTS - BLOCKS - 3, 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reference_sweep_is_reproduced),
        cmocka_unit_test(reference_sweep_has_no_lack_of_fit),
        cmocka_unit_test(a_valley_is_no_peak),
        cmocka_unit_test(a_line_has_an_unbounded_interval),
        cmocka_unit_test(the_order_of_points_and_missing_ones_do_not_matter),
        cmocka_unit_test(sweeps_without_an_answer_are_refused),
        cmocka_unit_test(fieller_covers_the_true_vertex),
        cmocka_unit_test(blocks_are_at_levels_of_their_own_as_in_r),
        cmocka_unit_test(thousands_of_blocks_leave_the_curve),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
