/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what is said of one series of shots. */
#include <support/check.h>

#include <shottrace/judge/repeatability.h>
#include <shottrace/signal/distribution.h>
#include <shottrace/signal/random.h>

/* NIST/SEMATECH e-Handbook 6.3.2.2, flow rate: mean 50.81, limits with the exact d2 55.80241168 and
 * 45.81758832; standard deviation 2.03385239. */
static void handbook_series_has_its_limits(void **state) {
    const double flow[] = {49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1};
    shot_repeatability r;
    assert_int_equal(shot_repeatability_find(flow, 10, 0.95, &r), SHOT_OK);
    assert_true(r.enough);
    assert_rel(r.moments.sd, 2.03385239, 1e-8);
    assert_rel(r.limits.high, 55.80241168, 1e-9);
    assert_int_equal(r.outside, 0);
    /* t 0.975 on 9 degrees of freedom: R 4.2.2, qt */
    assert_rel(r.apart, 2.26215716280 * sqrt(2) * 2.03385239, 1e-8);
    /* 9 degrees of freedom: R 4.2.2, sd * sqrt(9/qchisq(c(0.975, 0.025), 9)). */
    assert_rel(r.sd_low, 2.03385239 * sqrt(9 / 19.0227677986), 1e-8);
    assert_rel(r.sd_high, 2.03385239 * sqrt(9 / 2.70038949998), 1e-8);
}

/* Two shots more differ by more than the limit in one case of twenty, whether it comes from four
 * shots or from ten (with 1.96 in the place of t it would be 14 % and 8 %).  Of RUNS series each
 * gives the exact chance for normal shots of sd 1; its mean is within four standard errors. */
static void two_shots_differ_by_more_in_one_case_of_twenty(void **state) {
    enum { RUNS = 400, MOST = 10 };
    const size_t sizes[] = {2, 4, MOST};
    for (int k = 0; k < 3; k++) {
        double x[MOST], chance[RUNS];
        for (int run = 0; run < RUNS; run++) {
            shot_random random = shot_random_at(77 + (uint64_t)k, (uint64_t)run);
            for (size_t i = 0; i < sizes[k]; i++)
                x[i] = shot_random_normal(&random);
            shot_repeatability r;
            assert_int_equal(shot_repeatability_find(x, sizes[k], 0.95, &r), SHOT_OK);
            chance[run] = 2 * shot_normal_tail(r.apart / sqrt(2));
        }
        const shot_moments mean = shot_moments_find(chance, RUNS);
        assert_close(mean.mean, 0.05, 4 * mean.sd / sqrt(RUNS));
    }
}

/* ISO 5725-6:1994, 4.1.4: 2.8 s, where s is as good as known. */
static void with_many_shots_it_is_the_repeatability_limit(void **state) {
    enum { MANY = 200 };
    static double x[MANY];
    shot_repeatability r;
    shot_random random = shot_random_at(5, 0);
    for (size_t i = 0; i < MANY; i++)
        x[i] = shot_random_normal(&random);
    assert_int_equal(shot_repeatability_find(x, MANY, 0.95, &r), SHOT_OK);
    assert_rel(r.apart, 2.8 * r.moments.sd, 0.012); /* t is 1.972 for 1.96 */
}

static void odd_one_change_and_last_signal_are_found(void **state) {
    const double x[] = {7.1, 7.3, NAN, 7.2, 7.4, 7.0, 7.2, 7.3, 7.1, 9.9};
    shot_repeatability r;
    assert_int_equal(shot_repeatability_find(x, 10, 0.95, &r), SHOT_OK);
    assert_int_equal(r.odd.index, 9);
    assert_true(r.odd.p < 1e-4);
    assert_int_equal(r.outside, 1);
    assert_true(r.last_outside);
    const double y[] = {1, 1.2, 0.9, 1.1, 1.05, 0.95, 3, 3.1, 2.9, 3.2, 3.05, 2.95};
    assert_int_equal(shot_repeatability_find(y, 12, 0.95, &r), SHOT_OK);
    assert_int_equal(r.change.first, 6);
    assert_true(r.change.p < 0.01);
    assert_rel(r.change.before, 1.025, 1e-12);
    assert_true(r.in_steps);
    double ramp[12];
    for (int i = 0; i < 12; i++)
        ramp[i] = 5 + 0.3 * i + 0.1 * sin(7 * i);
    assert_int_equal(shot_repeatability_find(ramp, 12, 0.95, &r), SHOT_OK);
    assert_false(r.in_steps);
    assert_true(r.trend.p < 0.01 && r.change.p < 0.05); /* the step test alone would be taken in */
}

static void short_and_constant_series_say_so(void **state) {
    shot_repeatability r;
    assert_int_equal(shot_repeatability_find((double[]){1, 2, 3}, 3, 0.95, &r), SHOT_OK);
    assert_false(r.enough);
    assert_rel(r.moments.sd, 1, 0);
    assert_false(isnan(r.apart));
    assert_int_equal(shot_repeatability_find((double[]){2, 2, 2, 2, 2}, 5, 0.95, &r), SHOT_OK);
    assert_false(r.enough);
    assert_true(isnan(r.limits.high));
    assert_int_equal(shot_repeatability_find(NULL, 0, 0.95, &r), SHOT_OK);
    assert_int_equal(r.moments.n, 0);
    assert_int_equal(shot_repeatability_find(NULL, 0, 1, &r), SHOT_ERR_RANGE);
}

enum { DAYS = 6, A_DAY = 4, ALL = DAYS * A_DAY };

/* Days that scatter as shots do, with `step` from the fourth day on. */
static shot_repeatability of_days(uint64_t run, double between, double step) {
    shot_random random = shot_random_at(91, run);
    double x[ALL];
    size_t day[ALL];
    shot_repeatability r;
    for (size_t d = 0; d < DAYS; d++) {
        const double level = between * shot_random_normal(&random) + (d < 3 ? 0 : step);
        for (size_t i = d * A_DAY; i < (d + 1) * A_DAY; i++) {
            day[i] = d;
            x[i] = level + shot_random_normal(&random);
        }
    }
    assert_int_equal(shot_repeatability_of_days_find(x, day, DAYS, ALL, 0.95, &r), SHOT_OK);
    return r;
}

/* Days that scatter by themselves are no step and no drift of the machine; over single shots two of
 * three such series would have one.  Intervals and limits are those of shots of different days. */
static void days_that_scatter_are_no_step(void **state) {
    enum { RUNS = 300 };
    int told = 0, held = 0, outside = 0, found = 0, differ = 0;
    for (uint64_t run = 0; run < RUNS; run++) {
        const shot_repeatability r = of_days(run, 1, 0);
        told += r.in_steps ? r.change.p <= 0.05 : r.trend.p <= 0.05;
        held += r.sd_low <= sqrt(2) && sqrt(2) <= r.sd_high;
        outside += r.outside > 0;
        assert_int_equal(r.days, DAYS);
        assert_true(r.apart > r.apart_within || !r.days_differ);
        const shot_repeatability stepped = of_days(run, 0, 3);
        found += stepped.in_steps && stepped.change.p <= 0.05 && stepped.change.first == 3 * A_DAY;
        differ += of_days(run, 0, 0).days_differ;
    }
    assert_true(told <= (0.05 + 4 * sqrt(0.05 * 0.95 / RUNS)) * RUNS);
    assert_true(held > 0.91 * RUNS && held < 0.99 * RUNS);
    assert_true(outside < 0.1 * RUNS);
    assert_true(found > 0.8 * RUNS); /* a step of three scatters is seen all the same */
    assert_close((double)differ / RUNS, 0.05, 4 * sqrt(0.05 * 0.95 / RUNS));
}

/* Of one day, or of one shot a day, nothing is new. */
static void a_day_alone_has_no_parts(void **state) {
    const double x[] = {7.1, 7.3, 7.2, 7.4, 7.0};
    const size_t one[] = {0, 0, 0, 0, 0}, each[] = {0, 1, 2, 3, 4};
    shot_repeatability r, plain;
    assert_int_equal(shot_repeatability_find(x, 5, 0.95, &plain), SHOT_OK);
    assert_int_equal(shot_repeatability_of_days_find(x, one, 5, 5, 0.95, &r), SHOT_OK);
    assert_int_equal(r.days, 0);
    assert_rel(r.sd_high, plain.sd_high, 0);
    assert_int_equal(shot_repeatability_of_days_find(x, each, 5, 5, 0.95, &r), SHOT_OK);
    assert_int_equal(r.days, 0);
    assert_rel(r.apart, plain.apart, 0);
    assert_rel(r.scatter, plain.moments.sd, 0);
    assert_int_equal(shot_repeatability_of_days_find(x, each, 4, 5, 0.95, &r), SHOT_ERR_RANGE);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(handbook_series_has_its_limits),
        cmocka_unit_test(two_shots_differ_by_more_in_one_case_of_twenty),
        cmocka_unit_test(with_many_shots_it_is_the_repeatability_limit),
        cmocka_unit_test(odd_one_change_and_last_signal_are_found),
        cmocka_unit_test(short_and_constant_series_say_so),
        cmocka_unit_test(days_that_scatter_are_no_step),
        cmocka_unit_test(a_day_alone_has_no_parts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
