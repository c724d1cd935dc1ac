/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the rank-sum test, exact with and without ties, and the shift with its interval. */
#include <support/check.h>

#include <stdlib.h>

#include <shottrace/signal/rank_test.h>

/* Hollander & Wolfe 1973, p. 69 (tritiated water diffusion); exact p and interval from R 4.2.2
 * wilcox.test, whose documentation uses the same data. */
static const double at_term[] = {0.80, 0.83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, 0.73, 1.46};
static const double early[] = {1.15, 0.88, 0.90, 0.74, 1.21};

static void published_example_is_reproduced(void **state) {
    shot_rank_test test;
    assert_int_equal(shot_rank_test_find(at_term, 10, early, 5, 0.95, &test), SHOT_OK);
    assert_true(test.exact);
    assert_rel(test.w, 35, 0);
    assert_rel(test.p, 0.254412254412, 1e-10);
    assert_rel(test.p_greater, 0.127206127206, 1e-10);
    assert_rel(test.shift, 0.305, 1e-10);
    assert_rel(test.low, -0.15, 1e-10);
    assert_rel(test.high, 0.76, 1e-10);
    assert_true(test.level >= 0.95);
}

/* By hand: {1, 2} against {2, 3} has midranks 1, 2.5 | 2.5, 4; of the 6 pairs of ranks the sums are
 * 3.5, 3.5, 5, 5, 6.5, 6.5 and the one seen is 3.5: p = 2 * 2/6. */
static void ties_are_exact(void **state) {
    shot_rank_test test;
    assert_int_equal(shot_rank_test_find((double[]){1, 2}, 2, (double[]){2, 3}, 2, 0.95, &test),
                     SHOT_OK);
    assert_rel(test.w, 0.5, 0);
    assert_rel(test.p, 2.0 / 3, 1e-14);
    /* Too small for 95 %: the whole range, at the level that it has, 1 - 2/6. */
    assert_rel(test.low, -2, 0);
    assert_rel(test.high, 0, 0);
    assert_rel(test.level, 2.0 / 3, 1e-14);
}

/* 50 a side is exact, 51 is normal: on the same kind of data they agree to the error of the
 * normal approximation, well under 0.002 here. */
static void large_groups_go_over_to_the_normal_distribution(void **state) {
    double a[51], b[51];
    for (int i = 0; i < 51; i++) {
        a[i] = sin(3 * i) + 0.25;
        b[i] = cos(5 * i);
    }
    shot_rank_test exact, normal;
    assert_int_equal(shot_rank_test_find(a, 50, b, 50, 0.95, &exact), SHOT_OK);
    a[50] = NAN; /* left out: still exact */
    assert_int_equal(shot_rank_test_find(a, 51, b, 50, 0.95, &normal), SHOT_OK);
    assert_true(normal.exact);
    assert_rel(normal.p, exact.p, 0);
    a[50] = exact.shift;
    assert_int_equal(shot_rank_test_find(a, 51, b, 50, 0.95, &normal), SHOT_OK);
    assert_false(normal.exact);
    assert_close(normal.p, exact.p, 0.02);
    assert_close(normal.low, exact.low, 0.05);
}

static void empty_groups_are_refused(void **state) {
    shot_rank_test test;
    assert_int_equal(shot_rank_test_find(early, 0, early, 5, 0.95, &test), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_rank_test_find((double[]){NAN}, 1, early, 5, 0.95, &test),
                     SHOT_ERR_SINGULAR);
    assert_int_equal(shot_rank_test_find(early, 5, early, 5, 0, &test), SHOT_ERR_RANGE);
}

/* Twenty thousand values a side: their differences alone would take 3 GB. */
static void differences_are_counted_not_kept(void **state) {
    enum { N = 20000 };
    double *x = malloc(2 * N * sizeof *x);
    shot_rank_test test;
    assert_non_null(x);
    for (size_t i = 0; i < 2 * N; i++)
        x[i] = (double)(i * 7919 % (2 * N) / 2) + (i < N ? 100 : 0);
    assert_int_equal(shot_rank_test_find(x, N, x + N, N, 0.95, &test), SHOT_OK);
    assert_true(test.p > 1e-3 && test.p <= 1);
    assert_true(test.low < 100 && test.high > 100 && test.high - test.low < 1000);
    free(x);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(published_example_is_reproduced),
        cmocka_unit_test(ties_are_exact),
        cmocka_unit_test(large_groups_go_over_to_the_normal_distribution),
        cmocka_unit_test(empty_groups_are_refused),
        cmocka_unit_test(differences_are_counted_not_kept),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
