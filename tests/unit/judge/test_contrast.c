/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: verdicts on two groups of shots: a clear answer for groups of any size.  How often the
 * verdicts are right is counted by test_contrast_rates. */
#include <support/contrast_of.h>

static void margin_gives_the_four_verdicts(void **state) {
    const double low[] = {10.0, 10.1, 9.9, 10.0, 10.05, 9.95};
    const double same[] = {10.02, 10.1, 9.92, 10.03, 10.0, 9.97};
    const double little[] = {10.2, 10.3, 10.1, 10.2, 10.25, 10.15};
    const double far[] = {12.0, 12.1, 11.9, 12.0, 12.05, 11.95};
    const double wide[] = {8, 12.5, 10, 9, 11.5, 9.5};
    shot_contrast_rules rules = shot_contrast_usual_rules;
    rules.margin = 0.5;
    assert_int_equal(contrast(far, 6, low, 6, &rules).verdict, SHOT_VERDICT_DIFFERENT);
    assert_int_equal(contrast(same, 6, low, 6, &rules).verdict, SHOT_VERDICT_SAME);
    assert_int_equal(contrast(little, 6, low, 6, &rules).verdict, SHOT_VERDICT_NEGLIGIBLE);
    assert_int_equal(contrast(wide, 6, low, 6, &rules).verdict, SHOT_VERDICT_NOT_SETTLED);
}

/* One, two, constant and missing: an answer each, and never a p value from too little. */
static void groups_of_any_size_get_an_answer(void **state) {
    const double one[] = {10}, two[] = {10, 11}, four[] = {9, 10, 11, 12}, same[] = {5, 5, 5, 5};
    const double other[] = {6, 6, 6, 6}, missing[] = {NAN, NAN};
    const shot_contrast_rules *rules = &shot_contrast_usual_rules;
    shot_contrast c = contrast(one, 1, two, 2, rules);
    assert_int_equal(c.verdict, SHOT_VERDICT_TOO_FEW);
    assert_true(isnan(c.test.p) && isnan(c.p_permutation));
    assert_int_equal(contrast(one, 1, one, 1, rules).verdict, SHOT_VERDICT_TOO_FEW);
    assert_int_equal(contrast(four, 4, two, 2, rules).verdict, SHOT_VERDICT_TOO_FEW);
    assert_int_equal(contrast(four, 4, missing, 2, rules).verdict, SHOT_VERDICT_MISSING);
    assert_int_equal(contrast(four, 4, NULL, 0, rules).verdict, SHOT_VERDICT_MISSING);
    c = contrast(same, 4, other, 4, rules);
    assert_int_equal(c.verdict, SHOT_VERDICT_NO_SCATTER);
    assert_rel(c.difference, -1, 0);
    c = contrast(four, 4, same, 4, rules); /* one of them constant: the other one's scatter */
    assert_int_equal(c.method, SHOT_CONTRAST_WELCH);
    assert_rel(c.test.df, 3, 1e-12);
}

/* A single count against the usual ones: its rank among all, 2 (1 + 1) / 21 with one of twenty as
 * high; a t test called it unusual with p < 0.001.  No scatter of counts is spoken of. */
static void a_single_count_is_judged_by_its_rank(void **state) {
    double usual[20] = {1};
    const double none[] = {0}, one[] = {1}, two[] = {2};
    shot_contrast_rules rules = shot_contrast_usual_rules;
    rules.against_usual = rules.counted = true;
    rules.margin = 1;
    shot_contrast c = contrast(one, 1, usual, 20, &rules);
    assert_int_equal(c.method, SHOT_CONTRAST_RANKS);
    assert_rel(c.test.p, 4.0 / 21, 1e-12);
    assert_int_equal(c.verdict, SHOT_VERDICT_NOT_SETTLED);
    assert_true(isnan(c.test.low) && isnan(c.effect.g) && c.needed_high == 0);
    assert_rel(contrast(two, 1, usual, 20, &rules).test.p, 2.0 / 21, 1e-12);
    assert_rel(contrast(none, 1, usual, 20, &rules).test.p, 1, 0);
    rules.counted = false;
    assert_true(contrast(one, 1, usual, 20, &rules).test.p < 0.001);
}

/* Today's single shot against ten earlier ones: the pooled test is the prediction interval. */
static void a_single_shot_is_judged_by_the_usual_scatter(void **state) {
    const double usual[] = {7.1, 7.4, 7.0, 7.3, 7.5, 7.2, 7.6, 7.1, 7.3, 7.5};
    const double in[] = {7.6}, out[] = {8.4};
    shot_contrast_rules rules = shot_contrast_usual_rules;
    rules.against_usual = true;
    shot_contrast c = contrast(in, 1, usual, 10, &rules);
    assert_int_equal(c.method, SHOT_CONTRAST_POOLED);
    assert_int_equal(c.verdict, SHOT_VERDICT_NOT_SETTLED);
    assert_rel(c.p_permutation, 3.0 / 11, 1e-14); /* 7.6, 7.6 and 7.0 are as far: by ranks of |d| */
    assert_int_equal(contrast(out, 1, usual, 10, &rules).verdict, SHOT_VERDICT_DIFFERENT);
    assert_int_equal(contrast(out, 1, usual, 3, &rules).verdict, SHOT_VERDICT_TOO_FEW);
}

static void rules_outside_their_range_are_refused(void **state) {
    const double x[] = {1, 2, 3, 4};
    shot_contrast c;
    shot_contrast_rules rules = shot_contrast_usual_rules;
    rules.margin = 0;
    assert_int_equal(shot_contrast_find(x, 4, x, 4, &rules, &c), SHOT_ERR_RANGE);
    rules = shot_contrast_usual_rules;
    rules.alpha = 0.5;
    assert_int_equal(shot_contrast_find(x, 4, x, 4, &rules, &c), SHOT_ERR_RANGE);
}

/* Six people in either week, levels far apart: pairs tell what Welch's test of the shots does not.
 */
static void shots_of_the_same_people_are_paired(void **state) {
    const double before[] = {5, 9, 2, 7, 4, 8, 6, 1},
                 after[] = {5.9, 10.1, 2.8, 8.2, 5.0, 8.9, 6.8};
    const size_t block[] = {0, 1, 2, 3, 4, 5, 5, 6, 0, 1, 2, 3, 4, 5, 5};
    shot_contrast_rules rules = shot_contrast_usual_rules;
    rules.margin = 0.3;
    assert_int_equal(contrast(before, 8, after, 7, &rules).method, SHOT_CONTRAST_WELCH);
    assert_true(contrast(before, 8, after, 7, &rules).test.p > 0.1);
    rules.block = block;
    rules.blocks = 7;
    shot_contrast c = contrast(before, 8, after, 7, &rules);
    assert_int_equal(c.method, SHOT_CONTRAST_PAIRS);
    assert_int_equal(c.a.n, 6); /* nobody of block 6 came again, and two shots of block 5 are one */
    assert_rel(c.difference, (-0.9 - 1.1 - 0.8 - 1.2 - 1.0 - 0.85) / 6, 1e-12);
    assert_rel(c.test.df, 5, 0);
    assert_rel(c.p_permutation, 2.0 / 64, 1e-12);
    assert_int_equal(c.verdict, SHOT_VERDICT_DIFFERENT);
    assert_in_range(c.needed_low, 4, c.needed_high);
    assert_true(c.detectable > 0 && c.detectable < 0.5);
    /* all of one week before the other: no shot tells the change from what else that week brought
     */
    const double order[] = {0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14};
    const double one_each[] = {5, 9, 2, 7, 4, 8}, again[] = {5.9, 10.1, 2.8, 8.2, 5.0, 8.9};
    const size_t pairs[] = {0, 1, 2, 3, 4, 5, 0, 1, 2, 3, 4, 5};
    rules.apart = true;
    rules.order = order;
    rules.block = pairs;
    c = contrast(one_each, 6, again, 6, &rules);
    assert_int_equal(c.verdict, SHOT_VERDICT_DRIFTED);
}

static void pairs_of_any_number_get_an_answer(void **state) {
    const double a[] = {5, 9, 2, 7}, b[] = {4, 8, 1, 6}, c[] = {4, 8, 1.5, 6};
    const size_t four[] = {0, 1, 2, 3, 0, 1, 2, 3}, apart[] = {0, 1, 2, 3, 4, 5, 6, 7};
    shot_contrast_rules rules = shot_contrast_usual_rules;
    rules.block = four;
    rules.blocks = 8;
    assert_int_equal(contrast(a, 4, b, 4, &rules).verdict, SHOT_VERDICT_NO_SCATTER);
    assert_rel(contrast(a, 4, b, 4, &rules).difference, 1, 0);
    assert_int_equal(contrast(a, 4, c, 4, &rules).method, SHOT_CONTRAST_PAIRS);
    assert_int_equal(contrast(a, 4, c, 3, &rules).verdict, SHOT_VERDICT_TOO_FEW);
    assert_int_equal(contrast(a, 4, c, 1, &rules).verdict, SHOT_VERDICT_TOO_FEW);
    rules.block = apart;
    assert_int_equal(contrast(a, 4, c, 4, &rules).verdict, SHOT_VERDICT_MISSING);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(margin_gives_the_four_verdicts),
        cmocka_unit_test(groups_of_any_size_get_an_answer),
        cmocka_unit_test(a_single_count_is_judged_by_its_rank),
        cmocka_unit_test(a_single_shot_is_judged_by_the_usual_scatter),
        cmocka_unit_test(rules_outside_their_range_are_refused),
        cmocka_unit_test(shots_of_the_same_people_are_paired),
        cmocka_unit_test(pairs_of_any_number_get_an_answer),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
