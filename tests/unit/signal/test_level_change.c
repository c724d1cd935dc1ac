/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: breaks of level are those of the published analysis of the Nile and of exhaustive
 * enumeration; the pruned search finds the optimum; noise alone gives few breaks. */
#include <support/check.h>
#include <support/reference.h>

#include <shottrace/signal/level_change.h>
#include <shottrace/signal/random.h>

/* Annual flow at Aswan 1871-1970 (Cobb 1978, 'The problem of the Nile: conditional solution to a
 * change-point problem', Biometrika 65:243-251).  Positions, RSS, BIC: Zeileis, Kleiber, Kramer &
 * Hornik 2003, 'Testing and dating of structural changes in practice', Comput. Stat. Data Anal.
 * 44:109-123, recomputed with R package strucchange 1.5-3.  Least segment 15. */
static void the_nile_has_the_published_breaks(void **state) {
    static const double rss[] = {2835156.75,       1597457.19444444, 1552923.61577540,
                                 1538096.51274510, 1507888.47591645, 1659993.50042626};
    static const double bic[] = {1318.24180688, 1270.08373574, 1276.46670076,
                                 1284.71766745, 1291.94447689, 1310.76515477};
    static const size_t places[6][5] = {
        {0}, {28}, {28, 83}, {28, 68, 83}, {28, 45, 68, 83}, {15, 30, 45, 68, 83}};
    size_t n;
    double *y = reference_column("nile.csv", "flow_1e8_m3", &n);
    for (size_t m = 0; m < 6; m++) {
        shot_levels *levels;
        assert_int_equal(shot_levels_exact(y, n, m, 15, &levels), SHOT_OK);
        for (size_t j = 0; j < m; j++)
            assert_int_equal(levels->first[j], places[m][j]);
        assert_rel(levels->rss, rss[m], 1e-10);              /* digits printed */
        assert_close(shot_levels_bic(levels), bic[m], 1e-8); /* digits printed */
        if (m == 1) {
            assert_rel(levels->mean[0], 1097.75, 1e-12);
            assert_rel(levels->mean[1], 30599.0 / 36, 1e-12);
        }
        shot_levels_free(levels);
    }
    free(y);
}

/* The 95 % interval of the break is observations 25 to 32 (Bai 1997, as strucchange computes it).
 */
static void the_nile_break_has_the_published_interval(void **state) {
    size_t n;
    double *y = reference_column("nile.csv", "flow_1e8_m3", &n), low, high;
    shot_levels *levels;
    assert_int_equal(shot_levels_exact(y, n, 1, 15, &levels), SHOT_OK);
    assert_int_equal(shot_levels_interval(levels, y, n, 0, 0.95, 1, &low, &high), SHOT_OK);
    assert_close(low, 25, 0);
    assert_close(high, 32, 0);
    assert_int_equal(shot_levels_interval(levels, y, n, 1, 0.95, 1, &low, &high), SHOT_ERR_RANGE);
    shot_levels_free(levels);
    free(y);
}

/* Yao 1987, 'Approximating the distribution of the maximum likelihood estimate of the change-point
 * in a sequence of independent random variables', Ann. Stat. 15:1321-1328: for equal sides
 *     F(x) = 1 + sqrt(x/2pi) exp(-x/8) - (x+5)/2 Phi(-sqrt(x)/2) + 3/2 e^x Phi(-3 sqrt(x)/2). */
static void the_distribution_of_the_place_is_that_of_yao(void **state) {
    for (double x = 0.25; x < 40; x *= 1.5) {
        double yao = 1 + sqrt(x / 6.283185307179586) * exp(-x / 8) -
                     (x + 5) / 4 * erfc(sqrt(x / 8)) + 0.75 * exp(x) * erfc(1.5 * sqrt(x / 2));
        assert_close(shot_levels_argmax_cdf(x, 1, 1), yao, 1e-12);
        assert_close(shot_levels_argmax_cdf(-x, 1, 1), 1 - yao, 1e-12);
    }
    assert_close(shot_levels_argmax_cdf(-1e-14, 1, 0.6), shot_levels_argmax_cdf(1e-14, 1, 0.6),
                 1e-6);
    assert_close(shot_levels_argmax_cdf(60, 1, 0.6), 1, 1e-3);
    assert_close(shot_levels_argmax_cdf(-1e4, 1, 0.6), 0, 1e-9); /* no overflow far out */
}

/* Where the scatter is another behind the change: rising from 0 to 1 without a step, also where the
 * normal tail in it is under the least double (a side of a twentieth of the scatter). */
static void the_distribution_rises_whatever_the_sides(void **state) {
    static const double scales[] = {0.05, 0.6, 1, 1.7, 20};
    for (size_t k = 0; k < sizeof scales / sizeof *scales; k++) {
        const double scale = scales[k], step = 0.01;
        double before = shot_levels_argmax_cdf(-60, 1, scale);
        assert_close(before, 0, 1e-3);
        for (double x = -60 + step; x <= 60; x += step) {
            const double now = shot_levels_argmax_cdf(x, 1, scale);
            assert_true(now >= before - 1e-9 && now <= 1 + 1e-9);
            before = now;
        }
    }
}

/* An interval follows from the two levels beside it: a series of the two alone has the same. */
static void an_interval_asks_its_two_levels(void **state) {
    enum { LEVEL = 40, N = 3 * LEVEL };
    double y[N], low[2], high[2];
    shot_random random = shot_random_at(17, 0);
    for (size_t i = 0; i < N; i++)
        y[i] = (i / LEVEL == 1 ? 2 : 0) + shot_random_normal(&random) * (i / LEVEL == 2 ? 1.5 : 1);
    shot_levels *all, *two;
    assert_int_equal(shot_levels_exact(y, N, 2, 10, &all), SHOT_OK);
    for (size_t j = 0; j < 2; j++) {
        const size_t from = j > 0 ? all->first[0] : 0, end = j > 0 ? N : all->first[1];
        assert_int_equal(shot_levels_interval(all, y, N, j, 0.95, 1, &low[0], &high[0]), SHOT_OK);
        assert_int_equal(shot_levels_exact(y + from, end - from, 1, 10, &two), SHOT_OK);
        assert_int_equal(two->first[0] + from, all->first[j]);
        assert_int_equal(
            shot_levels_interval(two, y + from, end - from, 0, 0.95, 1, &low[1], &high[1]),
            SHOT_OK);
        assert_close(low[0], low[1] + (double)from, 0);
        assert_close(high[0], high[1] + (double)from, 0);
        assert_true(low[0] < (double)all->first[j] && high[0] > (double)all->first[j]);
        shot_levels_free(two);
    }
    shot_levels_free(all);
}

/* Least rss of y[0..n-1] cut into count + 1 levels, by trying everything. */
static double enumerate(const double *y, size_t n, size_t count, size_t least) {
    double best = INFINITY;
    size_t from = count > 0 ? least : n, to = count > 0 ? n - 1 : n;
    for (size_t cut = from; cut <= to; cut++) { /* the last level is y[cut..], or all */
        size_t begin = count > 0 ? cut : 0;
        double mean = 0, rss = 0;
        if (n - begin < least)
            continue;
        for (size_t i = begin; i < n; i++)
            mean += y[i] / (double)(n - begin);
        for (size_t i = begin; i < n; i++)
            rss += (y[i] - mean) * (y[i] - mean);
        best = fmin(best, rss + (count > 0 ? enumerate(y, cut, count - 1, least) : 0));
    }
    return best;
}

/* Bai & Perron 2003: the dynamic programme is exact; Killick, Fearnhead & Eckley 2012: so is PELT,
 * whose total must be the least over all numbers of breaks. */
static void searches_equal_exhaustive_enumeration(void **state) {
    shot_random random = shot_random_at(5, 1);
    for (int trial = 0; trial < 60; trial++) {
        size_t n = 6 + shot_random_below(&random, 9), least = 1 + shot_random_below(&random, 3);
        double y[16], total = INFINITY, penalty = shot_random_between(&random, 0.2, 3);
        for (size_t i = 0; i < n; i++)
            y[i] = shot_random_normal(&random) + (i > n / 2 ? 1.5 : 0);
        for (size_t m = 0; (m + 1) * least <= n && m < 6; m++) {
            double truth = enumerate(y, n, m, least);
            shot_levels *levels;
            assert_int_equal(shot_levels_exact(y, n, m, least, &levels), SHOT_OK);
            assert_close(levels->rss, truth, 1e-10);
            shot_levels_free(levels);
        }
        for (size_t m = 0; (m + 1) * least <= n; m++) {
            shot_levels *levels;
            assert_int_equal(shot_levels_exact(y, n, m, least, &levels), SHOT_OK);
            total = fmin(total, levels->rss + penalty * (double)m);
            shot_levels_free(levels);
        }
        shot_levels *found;
        assert_int_equal(shot_levels_find(y, n, penalty, least, &found), SHOT_OK);
        assert_close(found->rss + penalty * (double)found->count, total, 1e-10);
        shot_levels_free(found);
    }
}

/* What the break at `newer` leaves to older ones is told from running sums, and where levels meet
 * is rounded: on a thousand samples of all kinds the cost is still that of the recursion of
 * Killick, Fearnhead & Eckley (2012, equation 4) over every place, nothing left out. */
static void long_series_have_the_least_cost_too(void **state) {
    enum { N = 1000 };
    shot_random random = shot_random_at(5, 3);
    for (int kind = 0; kind < 24; kind++) {
        const size_t least = 1 + (size_t)kind % 3;
        double y[N], best[N + 1], level = 0;
        for (size_t i = 0; i < N; i++) {
            level += kind / 3 % 4 == 1                   ? 0.01
                     : shot_random_chance(&random, 0.02) ? 3 * (double)(i % 7) - level
                                                         : 0;
            y[i] = kind / 3 % 4 == 0 ? 0 : level;
            y[i] += shot_random_normal(&random);
            if (kind >= 12) /* figures in coarse steps: many costs are the same */
                y[i] = 2 * floor(y[i] / 2 + 0.5);
        }
        const double penalty = shot_levels_penalty(N, 1);
        best[0] = -penalty;
        for (size_t t = 1; t <= N; t++) {
            double mean = 0, squares = 0, n = 0;
            best[t] = INFINITY;
            for (size_t c = t; c-- > 0;) {
                const double d = y[c] - mean;
                mean += d / ++n;
                squares += d * (y[c] - mean);
                if (t - c >= least && (c == 0 || c >= least))
                    best[t] = fmin(best[t], best[c] + squares + penalty);
            }
        }
        shot_levels *found;
        assert_int_equal(shot_levels_find(y, N, penalty, least, &found), SHOT_OK);
        assert_rel(found->rss + penalty * (double)found->count, best[N], 1e-11);
        shot_levels_free(found);
    }
}

/* Missing samples are left out, and places are those of the series as given. */
static void missing_samples_keep_their_places(void **state) {
    double y[30];
    for (size_t i = 0; i < 30; i++)
        y[i] = i % 5 == 2 ? NAN : i < 13 ? 1 : 4;
    shot_levels *levels;
    assert_int_equal(shot_levels_find(y, 30, 0.5, 2, &levels), SHOT_OK);
    assert_int_equal(levels->count, 1);
    assert_int_equal(levels->first[0], 13);
    assert_int_equal(levels->used, 24);
    assert_close(levels->mean[0], 1, 1e-12);
    assert_close(levels->mean[1], 4, 1e-12);
    shot_levels_free(levels);
}

/* Power of a shift of 1 SD in the middle of 60 and no more than a few breaks in pure noise, over
 * 300 series.  The F test of a break at a known place has power 0.97 there (noncentral F,
 * noncentrality 15, at 5 %); the price 2 ln n = 8.2 is that of 0.4 % for one place, with an unknown
 * place less: 0.80 is asked, 3 binomial standard errors below being 0.73. */
static void a_shift_is_found_and_noise_is_not(void **state) {
    shot_random random = shot_random_at(5, 2);
    int false_breaks = 0, found = 0;
    for (int trial = 0; trial < 300; trial++)
        for (int shift = 0; shift < 2; shift++) {
            double y[60];
            for (size_t i = 0; i < 60; i++)
                y[i] = shot_random_normal(&random) + (shift && i >= 30 ? 1 : 0);
            shot_levels *levels;
            assert_int_equal(shot_levels_find(y, 60, shot_levels_penalty(60, 1), 2, &levels),
                             SHOT_OK);
            if (shift)
                found += levels->count > 0;
            else
                false_breaks += levels->count > 0;
            shot_levels_free(levels);
        }
    print_message("found %d of 300, false in %d of 300\n", found, false_breaks);
    assert_true(found > 219);
    assert_true(false_breaks < 75);
}

static void what_cannot_be_partitioned_is_refused(void **state) {
    double y[4] = {1, 2, 3, INFINITY};
    shot_levels *levels = (shot_levels *)y;
    assert_int_equal(shot_levels_find(y, 4, 1, 1, &levels), SHOT_ERR_RANGE);
    assert_null(levels);
    assert_int_equal(shot_levels_find(y, 3, 0, 1, &levels), SHOT_ERR_RANGE);
    assert_int_equal(shot_levels_find(y, 3, 1, 4, &levels), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_levels_exact(y, 3, 3, 1, &levels), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_levels_exact(y, 3, 1, 2, &levels), SHOT_ERR_SINGULAR);
    y[0] = y[1] = y[2] = NAN;
    assert_int_equal(shot_levels_exact(y, 3, 0, 1, &levels), SHOT_ERR_SINGULAR);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_nile_has_the_published_breaks),
        cmocka_unit_test(the_nile_break_has_the_published_interval),
        cmocka_unit_test(the_distribution_of_the_place_is_that_of_yao),
        cmocka_unit_test(the_distribution_rises_whatever_the_sides),
        cmocka_unit_test(an_interval_asks_its_two_levels),
        cmocka_unit_test(searches_equal_exhaustive_enumeration),
        cmocka_unit_test(long_series_have_the_least_cost_too),
        cmocka_unit_test(missing_samples_keep_their_places),
        cmocka_unit_test(a_shift_is_found_and_noise_is_not),
        cmocka_unit_test(what_cannot_be_partitioned_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
