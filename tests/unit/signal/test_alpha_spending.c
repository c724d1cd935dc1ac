/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: that several looks together raise a false alarm as seldom as one. */
#include <support/check.h>

#include <shottrace/signal/alpha_spending.h>
#include <shottrace/signal/moments.h>
#include <shottrace/signal/normal.h>
#include <shottrace/signal/random.h>
#include <shottrace/signal/two_sample.h>

/* The bound on a normal statistic that a limit on p stands for. */
static double bound_of(double limit) {
    return -shot_normal_quantile(limit / 2);
}

static void limits_of(const double *seen, size_t looks, double *limits) {
    double spent[20];
    for (size_t i = 0; i < looks; i++)
        spent[i] = shot_alpha_spent(0.05, seen[i]);
    assert_int_equal(shot_alpha_spending_limits(seen, spent, looks, limits), SHOT_OK);
}

/* Reboussin, DeMets, Kim & Lan 2000, Controlled Clin. Trials 21:190-207: the two-sided bounds of
 * this function at 5 % for two to five even looks (values from memory; their quadrature errs by
 * 1e-4). */
static void bounds_are_the_published_ones(void **state) {
    static const double published[][5] = {{2.9626, 1.9686},
                                          {3.7103, 2.5114, 1.9930},
                                          {4.3326, 2.9631, 2.3590, 2.0141},
                                          {4.8769, 3.3569, 2.6803, 2.2898, 2.0310}};
    for (size_t looks = 2; looks <= 5; looks++) {
        double seen[5], limits[5];
        for (size_t i = 0; i < looks; i++)
            seen[i] = (double)(i + 1) / (double)looks;
        limits_of(seen, looks, limits);
        for (size_t i = 0; i < looks; i++)
            assert_close(bound_of(limits[i]), published[looks - 2][i], 1.5e-4);
    }
}

/* Looks after 4, 7, 8 and 20 of 20, against boxes of SciPy 1.10.1 (multivariate_normal.cdf, a
 * quadrature of its own) that leave out what is spent; and in shots in the place of parts. */
static void looks_need_not_be_even(void **state) {
    const double seen[] = {0.2, 0.35, 0.4, 1};
    double limits[4];
    limits_of(seen, 4, limits);
    const double scipy[] = {4.876885, 3.613133, 3.391180, 1.962324};
    for (size_t i = 0; i < 4; i++)
        assert_close(bound_of(limits[i]), scipy[i], 2e-4);
    double shots[4], spent[4], same[4];
    for (size_t i = 0; i < 4; i++) {
        shots[i] = 20 * seen[i];
        spent[i] = shot_alpha_spent(0.05, seen[i]);
    }
    assert_int_equal(shot_alpha_spending_limits(shots, spent, 4, same), SHOT_OK);
    for (size_t i = 0; i < 4; i++)
        assert_close(same[i], limits[i], 1e-9);
}

static void one_look_spends_all(void **state) {
    const double all = 1, spent = 0.05;
    double limit;
    assert_int_equal(shot_alpha_spending_limits(&all, &spent, 1, &limit), SHOT_OK);
    assert_close(limit, 0.05, 1e-9);
    assert_rel(shot_alpha_spent(0.05, 2), 0.05, 0);
    assert_rel(shot_alpha_spent(0.05, 0), 0, 0);
}

/* Too early to spend anything: nothing counts, and the later looks lose nothing. */
static void a_look_far_too_early_counts_nothing(void **state) {
    const double seen[] = {0.01, 1};
    double limits[2];
    limits_of(seen, 2, limits);
    assert_rel(limits[0], 0, 0);
    assert_close(limits[1], 0.05, 1e-9);
}

enum { RUNS = 4000, LOOKS = 4, STEP = 4 };

/* How many of the runs are called different at some look, by p <= 0.05 and by the limits.
 *   p_at  the p value of a run at a look at its first n values */
struct called {
    int plain, limited;
};

static struct called call_runs(uint64_t key, void (*make)(shot_random *, double *),
                               double (*p_at)(const double *, size_t)) {
    const double seen[] = {0.25, 0.5, 0.75, 1};
    double limits[LOOKS];
    struct called called = {0, 0};
    limits_of(seen, LOOKS, limits);
    for (uint64_t run = 0; run < RUNS; run++) {
        shot_random random = shot_random_at(key, run);
        double values[2 * LOOKS * STEP];
        bool plain = false, limited = false;
        make(&random, values);
        for (size_t look = 0; look < LOOKS; look++) {
            const double p = p_at(values, (look + 1) * STEP);
            plain = plain || p <= 0.05;
            limited = limited || p <= limits[look];
        }
        called.plain += plain;
        called.limited += limited;
    }
    print_message("of %d: %d by 5 %% at each look, %d by the limits\n", RUNS, called.plain,
                  called.limited);
    return called;
}

static void make_groups(shot_random *random, double *values) {
    for (size_t i = 0; i < LOOKS * STEP; i++) {
        values[i] = shot_random_normal(random);
        values[LOOKS * STEP + i] = 2 * shot_random_normal(random);
    }
}

static double welch(const double *values, size_t n) {
    const shot_moments a = shot_moments_find(values, n);
    const shot_moments b = shot_moments_find(values + (size_t)LOOKS * STEP, n);
    shot_t_test test;
    assert_int_equal(shot_two_sample_welch(&a, &b, 0.95, &test), SHOT_OK);
    return test.p;
}

/* Groups of 4, 8, 12 and 16 a side without a difference, one scattering twice as much as the
 * other, judged by Welch's test at each look: 13 % are called different at some look by p <= 0.05,
 * and 6 % by the limits. */
static void simulated_looks_keep_the_level(void **state) {
    const struct called called = call_runs(3, make_groups, welch);
    assert_in_range(called.plain, RUNS * 10 / 100, RUNS * 16 / 100);
    /* the binomial error is 0.34 %; Welch's own level at four a side and unequal scatter 5.4 % */
    assert_in_range(called.limited, RUNS * 4 / 100, RUNS * 65 / 1000);
}

static void make_pairs(shot_random *random, double *values) {
    for (size_t i = 0; i < LOOKS * STEP; i++)
        values[i] = shot_random_normal(random);
}

static double student(const double *values, size_t n) {
    const shot_moments m = shot_moments_find(values, n);
    shot_t_test test;
    assert_int_equal(
        shot_two_sample_test(m.mean, m.sd / sqrt((double)m.n), (double)m.n - 1, 0.95, &test),
        SHOT_OK);
    return test.p;
}

/* The same of 4, 8, 12 and 16 pairs, whose differences Student's t judges: three degrees of freedom
 * at the first look cost nothing, since p values are held against the limits. */
static void simulated_looks_at_pairs_keep_the_level(void **state) {
    const struct called called = call_runs(4, make_pairs, student);
    assert_in_range(called.plain, RUNS * 10 / 100, RUNS * 16 / 100);
    assert_in_range(called.limited, RUNS * 4 / 100,
                    RUNS * 6 / 100); /* the binomial error is 0.34 % */
}

static void what_does_not_rise_is_refused(void **state) {
    double limits[2];
    const double level[] = {1, 1}, rising[] = {1, 2}, spent[] = {0.01, 0.05}, falling[] = {0.05, 0};
    assert_int_equal(shot_alpha_spending_limits(level, spent, 2, limits), SHOT_ERR_RANGE);
    assert_int_equal(shot_alpha_spending_limits(rising, falling, 2, limits), SHOT_ERR_RANGE);
    assert_int_equal(shot_alpha_spending_limits((double[]){NAN}, spent, 1, limits), SHOT_ERR_RANGE);
    assert_int_equal(shot_alpha_spending_limits(rising, (double[]){0.5, 1}, 2, limits),
                     SHOT_ERR_RANGE);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bounds_are_the_published_ones),
        cmocka_unit_test(looks_need_not_be_even),
        cmocka_unit_test(one_look_spends_all),
        cmocka_unit_test(a_look_far_too_early_counts_nothing),
        cmocka_unit_test(simulated_looks_keep_the_level),
        cmocka_unit_test(simulated_looks_at_pairs_keep_the_level),
        cmocka_unit_test(what_does_not_rise_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
