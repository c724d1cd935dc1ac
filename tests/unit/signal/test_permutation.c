/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: exact counts with their ties, and sampled p values with an honest error. */
#include <support/reference.h>

#include <shottrace/signal/permutation.h>
#include <shottrace/signal/random.h>

/* Efron & Tibshirani 1993, 'An Introduction to the Bootstrap', Table 2.1. */
static const double treated[] = {94, 197, 16, 38, 99, 141, 23};
static const double control[] = {52, 104, 146, 10, 51, 30, 40, 27, 46};

/* Fisher 1935, 'The Design of Experiments', section 21: 863 of 32768 sign patterns of Darwin's
 * maize reach the sum of 314. */
static void darwins_maize_gives_fishers_count(void **state) {
    const double difference[] = {49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48};
    shot_permutation test;
    assert_int_equal(shot_permutation_sign_flip(difference, 15, &shot_permutation_usual, &test),
                     SHOT_OK);
    assert_true(test.exact);
    assert_int_equal(test.total, 32768);
    assert_int_equal(test.greater, 863);
    assert_int_equal(test.extreme, 1726);
    assert_rel(test.p_greater, 0.026336669921875, 0);
    assert_rel(test.p, 0.05267333984375, 0);
}

/* Counts by complete enumeration in whole numbers: 1613 (the book's sampled p is 0.132). */
static void mouse_data_give_the_exact_counts(void **state) {
    shot_permutation test;
    assert_int_equal(
        shot_permutation_two_sample(treated, 7, control, 9, &shot_permutation_usual, &test),
        SHOT_OK);
    assert_int_equal(test.total, 11440);
    assert_int_equal(test.greater, 1613);
    assert_int_equal(test.extreme, 3184);
    assert_rel(test.p_greater, 0.140996503497, 1e-11);
    /* The other way round: the larger group first, and the sign turned. */
    assert_int_equal(
        shot_permutation_two_sample(control, 9, treated, 7, &shot_permutation_usual, &test),
        SHOT_OK);
    assert_int_equal(test.extreme, 3184);
    assert_true(test.p_greater > 0.85);
}

/* The sleep data have one decimal and many ties, which binary fractions would lose. */
static void ties_of_decimal_data_are_counted(void **state) {
    size_t n;
    double *x = reference_column("sleep.csv", "extra", &n), difference[10];
    shot_permutation test;
    assert_int_equal(shot_permutation_two_sample(x, 10, x + 10, 10, &shot_permutation_usual, &test),
                     SHOT_OK);
    assert_int_equal(test.total, 184756);
    assert_int_equal(test.extreme, 15048);
    for (int i = 0; i < 10; i++)
        difference[i] = x[i] - x[i + 10];
    assert_int_equal(shot_permutation_sign_flip(difference, 10, &shot_permutation_usual, &test),
                     SHOT_OK);
    assert_int_equal(test.extreme, 4);
    assert_rel(test.p, 1.0 / 256, 0);
    free(x);
}

/* Groups of one size: Welch's t rises with the difference whatever is dealt, so the counts are
 * those of the difference, ties and all.  One value against others has no scatter of its own. */
static void studentizing_groups_of_one_size_changes_nothing(void **state) {
    size_t n;
    double *x = reference_column("sleep.csv", "extra", &n);
    shot_permutation test;
    assert_int_equal(
        shot_permutation_studentized(x, 10, x + 10, 10, &shot_permutation_usual, &test), SHOT_OK);
    assert_int_equal(test.extreme, 15048);
    free(x);
    assert_int_equal(
        shot_permutation_studentized((double[]){7}, 1, control, 9, &shot_permutation_usual, &test),
        SHOT_OK);
    assert_int_equal(test.total, 10);
    assert_rel(test.p, 0.3, 1e-15); /* 104 and 146 lie further from the mean */
}

/* All alike within each group is as far apart as can be: of 15 arrangements that one alone. */
static void groups_without_scatter_are_extreme(void **state) {
    const double low[] = {0.1, 0.1}, high[] = {0.3, 0.3, 0.3, 0.3};
    shot_permutation test;
    assert_int_equal(shot_permutation_studentized(low, 2, high, 4, &shot_permutation_usual, &test),
                     SHOT_OK);
    assert_int_equal(test.total, 15);
    assert_int_equal(test.extreme, 1);
    assert_int_equal(shot_permutation_studentized(high, 2, high, 4, &shot_permutation_usual, &test),
                     SHOT_OK);
    assert_rel(test.p, 1, 0);
}

/* Four values that scatter by 3 against twenty by 1, with one mean: the plain difference is under
 * 5 % in 30 of 100, since it takes the scatter for a difference too.  Of 1000 studentized ones at
 * most 11 % are: the level is kept as the groups grow, and roughly by four values. */
static void unequal_scatter_is_not_taken_for_a_difference(void **state) {
    shot_random random = shot_random_at(11, 0);
    int plain = 0, studentized = 0;
    enum { RUNS = 1000 };
    for (int run = 0; run < RUNS; run++) {
        double a[4], b[20];
        shot_permutation test;
        for (int i = 0; i < 4; i++)
            a[i] = 3 * shot_random_normal(&random);
        for (int i = 0; i < 20; i++)
            b[i] = shot_random_normal(&random);
        shot_permutation_two_sample(a, 4, b, 20, &shot_permutation_usual, &test);
        plain += test.p <= 0.05;
        shot_permutation_studentized(a, 4, b, 20, &shot_permutation_usual, &test);
        studentized += test.p <= 0.05;
    }
    print_message("under 5 %% of %d: difference %d, studentized %d\n", RUNS, plain, studentized);
    assert_in_range(plain, 250, 350);
    assert_in_range(studentized, 20, 110);
}

/* Where the arrangements are too many they are drawn: within 4 standard errors of the exact p, for
 * each of a few seeds, and the same again from the same seed. */
static void sampled_p_is_near_the_exact_one(void **state) {
    for (uint64_t seed = 0; seed < 5; seed++) {
        const shot_permutation_effort few = {1000, 20000, seed};
        shot_permutation test, again;
        assert_int_equal(shot_permutation_two_sample(treated, 7, control, 9, &few, &test), SHOT_OK);
        assert_false(test.exact);
        assert_int_equal(test.total, 20000);
        assert_close(test.p, 0.278321678322, 4 * test.se);
        assert_rel(test.se, sqrt(test.p * (1 - test.p) / 20001), 1e-12);
        assert_int_equal(shot_permutation_two_sample(treated, 7, control, 9, &few, &again),
                         SHOT_OK);
        assert_int_equal(again.extreme, test.extreme);
    }
    double ramp[80];
    for (int i = 0; i < 80; i++)
        ramp[i] = i % 2 ? i : -i;
    shot_permutation test;
    assert_int_equal(shot_permutation_sign_flip(ramp, 80, &shot_permutation_usual, &test), SHOT_OK);
    assert_false(test.exact);
    /* Sum 40, variance sum of squares 167480: normal two-sided p 0.924 with continuity. */
    assert_close(test.p, 0.924, 4 * test.se + 0.002);
}

/* All equal: every arrangement is as extreme.  One against one: both are. */
static void groups_without_a_difference_give_one(void **state) {
    const double same[] = {0.1 + 0.2, 0.3, 0.3};
    shot_permutation test;
    assert_int_equal(
        shot_permutation_two_sample(same, 2, same + 1, 2, &shot_permutation_usual, &test), SHOT_OK);
    assert_rel(test.p, 1, 0);
    assert_int_equal(shot_permutation_two_sample((double[]){1}, 1, (double[]){5, NAN}, 2,
                                                 &shot_permutation_usual, &test),
                     SHOT_OK);
    assert_int_equal(test.total, 2);
    assert_rel(test.p, 1, 0);
    assert_rel(test.p_greater, 1, 0);
}

static void empty_groups_are_refused(void **state) {
    shot_permutation test;
    assert_int_equal(shot_permutation_two_sample((double[]){NAN}, 1, (double[]){5}, 1,
                                                 &shot_permutation_usual, &test),
                     SHOT_ERR_SINGULAR);
    assert_int_equal(
        shot_permutation_two_sample(NULL, 0, (double[]){5}, 1, &shot_permutation_usual, &test),
        SHOT_ERR_SINGULAR);
    assert_int_equal(shot_permutation_sign_flip((double[]){NAN}, 1, &shot_permutation_usual, &test),
                     SHOT_ERR_SINGULAR);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(darwins_maize_gives_fishers_count),
        cmocka_unit_test(mouse_data_give_the_exact_counts),
        cmocka_unit_test(ties_of_decimal_data_are_counted),
        cmocka_unit_test(studentizing_groups_of_one_size_changes_nothing),
        cmocka_unit_test(groups_without_scatter_are_extreme),
        cmocka_unit_test(unequal_scatter_is_not_taken_for_a_difference),
        cmocka_unit_test(sampled_p_is_near_the_exact_one),
        cmocka_unit_test(groups_without_a_difference_give_one),
        cmocka_unit_test(empty_groups_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
