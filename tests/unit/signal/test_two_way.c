/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a setting gives what it would give in the average block, whichever blocks had it. */
#include <support/check.h>

#include <stdlib.h>

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

/* The same with the two ways in each other's place: more settings than blocks, so that the blocks
 * have the columns.  R: lm(Y ~ B + N). */
static void fewer_blocks_than_settings_say_the_same(void **state) {
    double level[OATS_BLOCKS], shift[OATS_LEVELS], spread[OATS_BLOCKS], rest, df;
    const oats_plots o = oats_without(oats_lost, OATS_LOST);
    assert_int_equal(shot_two_way_fit(o.y, o.block, OATS_BLOCKS, o.setting, OATS_LEVELS, o.n, level,
                                      shift, spread, &rest, &df),
                     SHOT_OK);
    assert_rel(level[1] - level[0], -29.5198186311, 1e-10);
    assert_rel(level[5] - level[0], -40.0469317249, 1e-10);
    assert_rel(shift[3] - shift[0], 41.8626676283, 1e-10);
    assert_rel(rest, 15294.8926326, 1e-11);
    assert_rel(df, 52, 0);
    assert_close(spread[0], 0, 1e-15); /* the highest of them */
    assert_rel(sqrt(spread[4] * rest / df), 8.13013876633, 1e-10);
    assert_rel(sqrt(spread[5] * rest / df), 8.1032165672, 1e-10);
}

/* A thousand settings and more of three blocks: columns for each of them would take minutes. */
static void many_settings_of_few_blocks_are_no_more_work_than_the_blocks(void **state) {
    enum { SETTINGS = 2000, BLOCKS = 3, N = 3 * SETTINGS };
    double *y = malloc(N * sizeof *y), *level = malloc(SETTINGS * sizeof *level);
    size_t *setting = malloc(N * sizeof *setting), *block = malloc(N * sizeof *block);
    double shift[BLOCKS], rest, df;
    assert_true(y && level && setting && block);
    for (size_t i = 0; i < N; i++) {
        setting[i] = i % SETTINGS;
        block[i] = i / SETTINGS;
        y[i] = (double)setting[i] + 10 * (double)block[i];
    }
    assert_int_equal(
        shot_two_way_fit(y, setting, SETTINGS, block, BLOCKS, N, level, shift, NULL, &rest, &df),
        SHOT_OK);
    assert_close(level[SETTINGS - 1], SETTINGS - 1 + 10, 1e-9);
    assert_close(shift[2], 10, 1e-9);
    assert_close(rest, 0, 1e-15 * N * SETTINGS);
    free(y);
    free(level);
    free(setting);
    free(block);
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
        cmocka_unit_test(fewer_blocks_than_settings_say_the_same),
        cmocka_unit_test(many_settings_of_few_blocks_are_no_more_work_than_the_blocks),
        cmocka_unit_test(values_alone_are_their_own_levels),
        cmocka_unit_test(what_cannot_be_told_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
