/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the ratio of two scatters, and that its interval holds whatever the values' law. */
#include <support/check.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/moments.h>
#include <shottrace/signal/random.h>
#include <shottrace/signal/scatter_ratio.h>

/* SciPy 1.10.1: trim_mean, norm.ppf and NumPy's sums, by the formula of the source. */
static void the_ratio_of_two_groups_is_as_in_scipy(void **state) {
    const double a[] = {8.2, 8.4, 7.9, 8.8, 8.1, 9.6, NAN, 8.0};
    const double b[] = {8.3, 8.9, 7.1, 9.9, 6.5, 8.8, 9.4, 7.7, 8.0, 10.4};
    shot_scatter_ratio s;
    assert_int_equal(shot_scatter_ratio_find(a, 8, b, 10, 0, 0.95, &s), SHOT_OK);
    assert_rel(s.ratio, 0.486612837993, 1e-11);
    assert_rel(s.low, 0.236505950332, 1e-11);
    assert_rel(s.high, 1.11801452918, 1e-11);
    assert_int_equal(shot_scatter_ratio_find(a, 5, b, 10, 0, 0.9, &s), SHOT_OK);
    assert_rel(s.ratio, 0.279078152826, 1e-11);
    assert_rel(s.low, 0.144152907115, 1e-11);
    assert_rel(s.high, 0.672730115465, 1e-11);
}

/* Fourth powers of values over 1e77 are more than the largest double, and those under 1e-81 are
 * none: an interval without width. */
static void the_ratio_has_no_unit(void **state) {
    const double a[] = {8.2, 8.4, 7.9, 8.8, 8.1, 9.6}, b[] = {8.3, 8.9, 7.1, 9.9, 6.5, 8.8};
    double far_a[6], far_b[6];
    shot_scatter_ratio plain, s;
    assert_int_equal(shot_scatter_ratio_find(a, 6, b, 6, 0, 0.95, &plain), SHOT_OK);
    for (int power = -300; power <= 900; power += 300) {
        for (int i = 0; i < 6; i++) {
            far_a[i] = ldexp(a[i], power);
            far_b[i] = ldexp(b[i], power);
        }
        assert_int_equal(shot_scatter_ratio_find(far_a, 6, far_b, 6, 0, 0.95, &s), SHOT_OK);
        assert_rel(s.ratio, plain.ratio, 1e-14);
        assert_rel(s.low, plain.low, 1e-14);
        assert_rel(s.high, plain.high, 1e-14);
    }
}

/* SciPy's digamma and Student's t. */
static void the_ratio_within_blocks_is_as_in_scipy(void **state) {
    const double y[] = {1.0, 1.4, 0.8, 1.1, 2.6, 0.2, 5, 5.3, 6,   4.1, 5.0, 3,  3.9,
                        2.7, 3.2, 2,   4,   9,   8.2, 8, 9.9, 9.3, 7,   1,   NAN};
    const size_t block[] = {0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 2, 2,
                            2, 2, 2, 2, 3, 3, 3, 3, 3, 4, 4, 0};
    const bool second[] = {0, 0, 0, 1, 1, 1, 0, 0, 1, 1, 1, 0, 0,
                           0, 0, 1, 1, 0, 0, 1, 1, 1, 0, 1, 0};
    shot_scatter_ratio s;
    assert_int_equal(shot_scatter_ratio_within(y, second, block, 5, 25, 0, 0.95, &s), SHOT_OK);
    assert_int_equal(s.blocks, 4); /* the fifth has one value a side */
    assert_rel(s.ratio, 0.350257984237, 1e-11);
    assert_rel(s.low, 0.137971368657, 1e-11);
    assert_rel(s.high, 0.889174737599, 1e-11);
}

/* Scores of 7 in a row scatter by what whole numbers leave out. */
static void what_rounding_hides_is_no_steadiness(void **state) {
    const double even[] = {7, 7, 7, 7, 7, 7}, odd[] = {6, 8, 7, 9, 5, 7};
    shot_scatter_ratio s;
    assert_int_equal(shot_scatter_ratio_find(even, 6, odd, 6, 0, 0.95, &s), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_scatter_ratio_find(even, 6, odd, 6, 1.0 / 12, 0.95, &s), SHOT_OK);
    assert_rel(s.ratio, sqrt(1.0 / 12 / 2), 1e-14);
}

static void too_few_tell_nothing(void **state) {
    const double x[] = {1, 2, 3, 4, 5};
    const bool second[] = {0, 0, 1, 1, 1};
    const size_t block[] = {0, 0, 0, 0, 0};
    shot_scatter_ratio s;
    assert_int_equal(shot_scatter_ratio_find(x, 4, x, 5, 0, 0.95, &s), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_scatter_ratio_find(x, 5, x, 5, 0, 1, &s), SHOT_ERR_RANGE);
    assert_int_equal(shot_scatter_ratio_find(x, 5, x, 5, -1, 0.95, &s), SHOT_ERR_RANGE);
    assert_int_equal(shot_scatter_ratio_within(x, second, block, 1, 5, 0, 0.95, &s),
                     SHOT_ERR_SINGULAR);
    assert_int_equal(shot_scatter_ratio_within(x, second, block, 0, 5, 0, 0.95, &s),
                     SHOT_ERR_RANGE);
}

/* Bonett's correction runs away where the level asks for much of few values: five against eight of
 * one scatter had an interval without ends, five against fifty one that left 1 out too often. */
static void what_cannot_be_told_leaves_no_figure(void **state) {
    const double x[] = {8.2, 8.4, 7.9, 8.8, 8.1, 9.6, 7.7, 8.0};
    shot_scatter_ratio s = {.ratio = NAN};
    assert_int_equal(shot_scatter_ratio_find(x, 5, x, 8, 0, 0.999, &s), SHOT_OK);
    s.ratio = NAN;
    for (double rest = 1e-4; rest > 1e-13; rest /= 10) /* normal deviates of 3.9 to 7.3 */
        assert_int_equal(shot_scatter_ratio_find(x, 5, x, 8, 0, 1 - rest, &s), SHOT_ERR_SINGULAR);
    assert_true(isnan(s.ratio));
}

enum law { NORMAL, SKEWED };

static double draw(shot_random *random, enum law law) {
    return law == NORMAL ? shot_random_normal(random) : -log(shot_random_uniform(random));
}

/* Eight values a side of one scatter, normal or exponential: by the F test 20 % of the latter are
 * called different. */
static void alarms_stay_rare_whatever_the_law(void **state) {
    enum { RUNS = 4000, N = 8 };
    static const int most[] = {RUNS * 5 / 100, RUNS * 65 / 1000};
    for (enum law law = NORMAL; law <= SKEWED; law++) {
        int alarms = 0, by_f = 0;
        for (uint64_t run = 0; run < RUNS; run++) {
            shot_random random = shot_random_at(21, run);
            double a[N], b[N];
            for (size_t i = 0; i < N; i++) {
                a[i] = draw(&random, law);
                b[i] = draw(&random, law);
            }
            shot_scatter_ratio s;
            assert_int_equal(shot_scatter_ratio_find(a, N, b, N, 0, 0.95, &s), SHOT_OK);
            alarms += s.low > 1 || s.high < 1;
            const double p = shot_f_cdf(s.ratio * s.ratio, N - 1, N - 1);
            by_f += 2 * fmin(p, 1 - p) <= 0.05;
        }
        print_message("law %d, of %d: %d by the interval, %d by F\n", (int)law, RUNS, alarms, by_f);
        assert_in_range(alarms, RUNS * 2 / 100, most[law]);
        assert_true(law == NORMAL || by_f > RUNS * 15 / 100);
    }
}

/* Eight students with three shots a week, who scatter unlike each other (by 1.5 as a rule), the
 * second week half of that: the interval holds the ratio. */
static void the_interval_within_blocks_holds_the_ratio(void **state) {
    enum { RUNS = 3000, BLOCKS = 8, SHOTS = 3, COUNT = BLOCKS * SHOTS * 2 };
    for (enum law law = NORMAL; law <= SKEWED; law++) {
        int held = 0, shown = 0;
        for (uint64_t run = 0; run < RUNS; run++) {
            shot_random random = shot_random_at(22, run);
            double y[COUNT], own = 0, level = 0;
            size_t block[COUNT];
            bool second[COUNT];
            for (size_t i = 0; i < COUNT; i++) {
                block[i] = i / (2 * SHOTS);
                second[i] = i % 2;
                if (i % (2 * SHOTS) == 0) {
                    own = exp(0.4 * shot_random_normal(&random));
                    level = 5 * shot_random_normal(&random);
                }
                y[i] = level + own * (second[i] ? 0.5 : 1) * draw(&random, law);
            }
            shot_scatter_ratio s;
            assert_int_equal(
                shot_scatter_ratio_within(y, second, block, BLOCKS, COUNT, 0, 0.95, &s), SHOT_OK);
            held += s.low <= 2 && s.high >= 2;
            shown += s.low > 1;
        }
        print_message("law %d, of %d: %d held, %d shown\n", (int)law, RUNS, held, shown);
        assert_in_range(held, RUNS * 935 / 1000, RUNS * 97 / 100); /* binomial error 0.4 % */
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_ratio_of_two_groups_is_as_in_scipy),
        cmocka_unit_test(the_ratio_has_no_unit),
        cmocka_unit_test(the_ratio_within_blocks_is_as_in_scipy),
        cmocka_unit_test(what_rounding_hides_is_no_steadiness),
        cmocka_unit_test(too_few_tell_nothing),
        cmocka_unit_test(what_cannot_be_told_leaves_no_figure),
        cmocka_unit_test(alarms_stay_rare_whatever_the_law),
        cmocka_unit_test(the_interval_within_blocks_holds_the_ratio),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
