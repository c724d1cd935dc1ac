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

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(margin_gives_the_four_verdicts),
        cmocka_unit_test(groups_of_any_size_get_an_answer),
        cmocka_unit_test(a_single_count_is_judged_by_its_rank),
        cmocka_unit_test(a_single_shot_is_judged_by_the_usual_scatter),
        cmocka_unit_test(rules_outside_their_range_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
