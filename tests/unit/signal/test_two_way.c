/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a setting gives what it would give in the average block, whichever blocks had it. */
#include <support/check.h>

#include <shottrace/signal/two_way.h>
#include <support/oats.h>

/* All plots: R 4.2.2, lm(Y ~ factor(N) + B), tapply(). */
static void complete_blocks_give_plain_means(void **state) {
    double level[OATS_LEVELS], shift[OATS_BLOCKS], spread[OATS_LEVELS], rest, df;
    const oats_plots o = oats_without(NULL, 0);
    assert_int_equal(shot_two_way_fit(o.y, o.setting, OATS_LEVELS, o.block, OATS_BLOCKS, o.n, level,
                                      shift, spread, &rest, &df),
                     SHOT_OK);
    assert_rel(level[0], 79.3888888889, 1e-11);
    assert_rel(level[3], 123.3888888889, 1e-11);
    assert_rel(shift[0], 31.36111111111, 1e-11);
    assert_rel(shift[5], -7.72222222222, 1e-11);
    assert_rel(rest, 16090.16667, 1e-9);
    assert_rel(df, 63, 0);
    assert_rel(sqrt(spread[0] * rest / df), 5.32707414899, 1e-10);
}

/* Eleven plots lost: what is left of a setting is no longer of the same blocks. */
static void incomplete_blocks_are_allowed_for(void **state) {
    double level[OATS_LEVELS], spread[OATS_LEVELS], rest, df;
    const oats_plots o = oats_without(oats_lost, OATS_LOST);
    assert_int_equal(shot_two_way_fit(o.y, o.setting, OATS_LEVELS, o.block, OATS_BLOCKS, o.n, level,
                                      NULL, spread, &rest, &df),
                     SHOT_OK);
    assert_rel(level[1] - level[0], 18.9044283996, 1e-10);
    assert_rel(level[3] - level[0], 41.8626676283, 1e-10);
    assert_rel(rest, 15294.8926326, 1e-11);
    assert_rel(df, 52, 0);
    assert_rel(sqrt(spread[0] * rest / df), 6.41123846229, 1e-10);
}

/* No repeats and one block: the values themselves, and nothing left to judge by. */
static void values_alone_are_their_own_levels(void **state) {
    const double y[] = {3, 1, 2};
    const size_t setting[] = {0, 1, 2};
    double level[3], shift[1], spread[3], rest, df;
    assert_int_equal(shot_two_way_fit(y, setting, 3, NULL, 0, 3, level, shift, spread, &rest, &df),
                     SHOT_OK);
    assert_rel(level[1], 1, 1e-14);
    assert_close(shift[0], 0, 0);
    assert_close(spread[0], 0, 0);
    assert_rel(spread[1], 2, 1e-12);
    assert_close(rest, 0, 1e-24);
    assert_rel(df, 0, 0);
}

static void what_cannot_be_told_is_refused(void **state) {
    const double y[] = {1, 2, 3, 4};
    const size_t setting[] = {0, 0, 1, 1}, block[] = {0, 0, 1, 1}, far[] = {0, 0, 1, 5};
    double level[2] = {7, 7}, rest, df;
    assert_int_equal(shot_two_way_fit(y, setting, 2, block, 2, 4, level, NULL, NULL, &rest, &df),
                     SHOT_ERR_SINGULAR);
    assert_int_equal(shot_two_way_fit(y, setting, 2, far, 2, 4, level, NULL, NULL, &rest, &df),
                     SHOT_ERR_RANGE);
    assert_int_equal(shot_two_way_fit(y, setting, 3, NULL, 1, 4, level, NULL, NULL, &rest, &df),
                     SHOT_ERR_RANGE);
    assert_int_equal(shot_two_way_fit(y, setting, 2, NULL, 1, 1, level, NULL, NULL, &rest, &df),
                     SHOT_ERR_SINGULAR);
    assert_true(level[0] == 7);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(complete_blocks_give_plain_means),
        cmocka_unit_test(incomplete_blocks_are_allowed_for),
        cmocka_unit_test(values_alone_are_their_own_levels),
        cmocka_unit_test(what_cannot_be_told_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
