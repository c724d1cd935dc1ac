/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: how far blocks lie apart is not in the difference of groups that share them, and a
 * block is one piece of news, however many values it has. */
#include <support/check.h>

#include <shottrace/signal/paired_difference.h>
#include <shottrace/signal/random.h>

enum { MOST = 64 };

/* Values of pairs, all of the first group before all of the second. */
typedef struct lot {
    double y[MOST];
    bool second[MOST];
    size_t block[MOST], n;
} lot;

static void add(lot *l, double y, bool second, size_t block) {
    l->y[l->n] = y;
    l->second[l->n] = second;
    l->block[l->n++] = block;
}

static shot_paired_difference find(const lot *l, size_t blocks, double level) {
    shot_paired_difference d;
    assert_int_equal(
        shot_paired_difference_find(l->y, l->second, l->block, blocks, l->n, level, 1000000, &d),
        SHOT_OK);
    return d;
}

/* Hours of sleep gained by two drugs, ten people each: Student 1908, Biometrika 6:1-25, as in R's
 * data set `sleep`; R 4.2.2, t.test(Pair(...) ~ 1). */
static void sleep_as_student_published_it(void **state) {
    const double one[] = {0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0};
    const double two[] = {1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4};
    lot l = {.n = 0};
    for (size_t i = 0; i < 10; i++)
        add(&l, one[i], false, i);
    for (size_t i = 10; i-- > 0;) /* in any order */
        add(&l, two[i], true, i);
    const shot_paired_difference d = find(&l, 10, 0.95);
    assert_int_equal(d.pairs, 10);
    assert_rel(d.test.difference, -1.58, 1e-12);
    assert_rel(d.test.t, -4.06212768338204, 1e-12);
    assert_rel(d.test.df, 9, 0);
    assert_rel(d.test.p, 0.00283289019738, 1e-10);
    assert_rel(d.test.low, -2.45988576327698, 1e-11);
    assert_rel(d.test.high, -0.70011423672302, 1e-11);
    assert_rel(d.first.mean, 0.75, 1e-12);
    assert_rel(d.second.mean, 2.33, 1e-12);
}

/* Heights of plants, crossed less selfed, in eighths of an inch: Darwin's pairs in Fisher 1935,
 * 'The Design of Experiments', section 21, who counted 1726 of 32768 changes of sign as far out,
 * and section 17, t = 2.148. */
static void plants_as_fisher_published_them(void **state) {
    const double differences[] = {49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48};
    lot l = {.n = 0};
    for (size_t i = 0; i < 15; i++) {
        add(&l, 140 + differences[i], false, i);
        add(&l, 140, true, i);
    }
    const shot_paired_difference d = find(&l, 15, 0.95);
    assert_close(d.test.t, 2.148, 0.0005);
    assert_rel(d.p_signs, 1726.0 / 32768, 1e-12);
}

/* Two values and three count as their mean; a block with one side is no pair, nor is one whose
 * values are missing. */
static void values_of_a_block_are_averaged_first(void **state) {
    lot averaged = {.n = 0}, single = {.n = 0};
    const double first[] = {10, 14, 9, 21}, second[] = {8, 13, 9.5, 18};
    for (size_t i = 0; i < 4; i++) {
        add(&single, first[i], false, i);
        add(&single, second[i], true, i);
        add(&averaged, first[i] - 1, false, 5 - i);
        add(&averaged, first[i] + 1, false, 5 - i);
        add(&averaged, NAN, false, 5 - i);
        add(&averaged, second[i], true, 5 - i);
    }
    add(&averaged, 99, false, 0);
    add(&averaged, 99, false, 1);
    add(&averaged, NAN, true, 1);
    const shot_paired_difference a = find(&averaged, 6, 0.9), s = find(&single, 4, 0.9);
    assert_int_equal(a.pairs, 4);
    assert_rel(a.test.df, 3, 0);
    assert_rel(a.test.t, s.test.t, 1e-12);
    assert_rel(a.test.low, s.test.low, 1e-12);
    assert_rel(a.p_signs, s.p_signs, 1e-12);
}

/* 18.1 - 18 and 17.9 - 17.8 are not the same in binary. */
static void differences_that_rounding_makes_are_none(void **state) {
    lot l = {.n = 0};
    for (size_t i = 0; i < 6; i++) {
        add(&l, 18.1 - 0.2 * (double)i, false, i);
        add(&l, 18.0 - 0.2 * (double)i, true, i);
    }
    const shot_paired_difference d = find(&l, 6, 0.95);
    assert_true(d.sd == 0);
    assert_true(isnan(d.test.p) && isnan(d.p_signs));
    assert_close(d.test.difference, 0.1, 1e-12);
}

static void what_cannot_be_told_is_missing(void **state) {
    lot l = {.n = 0};
    shot_paired_difference d = {.pairs = 7};
    add(&l, 1, false, 0);
    add(&l, 2, true, 1);
    assert_int_equal(find(&l, 2, 0.95).pairs, 0);
    assert_true(isnan(find(&l, 2, 0.95).test.difference));
    add(&l, 2, true, 0);
    assert_int_equal(find(&l, 2, 0.95).pairs, 1);
    assert_true(isnan(find(&l, 2, 0.95).sd));
    assert_int_equal(shot_paired_difference_find(l.y, l.second, l.block, 1, l.n, 0.95, 1, &d),
                     SHOT_ERR_RANGE);
    assert_int_equal(shot_paired_difference_find(l.y, l.second, l.block, 2, l.n, 1, 1, &d),
                     SHOT_ERR_RANGE);
    assert_int_equal(d.pairs, 7);
}

/* Blocks that lie apart by three scatters, and answer unlike each other to the change (by one); one
 * to three values a side.  The interval holds the mean change in no less than 95 % of 2000, within
 * four standard errors of the count; blocks of unlike size may make it too wide by little. */
static void interval_covers_over_uneven_blocks(void **state) {
    enum { RUNS = 2000, BLOCKS = 7 };
    int covered = 0;
    for (int run = 0; run < RUNS; run++) {
        shot_random random = shot_random_at(92, (uint64_t)run);
        lot l = {.n = 0};
        for (size_t b = 0; b < BLOCKS; b++) {
            const double level = 3 * shot_random_normal(&random);
            const double change = 2 + shot_random_normal(&random);
            for (size_t k = 0; k <= b % 3; k++)
                add(&l, level + change + shot_random_normal(&random), false, b);
            for (size_t k = 0; k <= b / 2 % 2; k++)
                add(&l, level + shot_random_normal(&random), true, b);
        }
        const shot_paired_difference d = find(&l, BLOCKS, 0.95);
        covered += d.test.low <= 2 && d.test.high >= 2;
    }
    assert_in_range(covered, (int)(RUNS * (0.95 - 4 * sqrt(0.95 * 0.05 / RUNS))),
                    (int)(RUNS * 0.975));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sleep_as_student_published_it),
        cmocka_unit_test(plants_as_fisher_published_them),
        cmocka_unit_test(values_of_a_block_are_averaged_first),
        cmocka_unit_test(differences_that_rounding_makes_are_none),
        cmocka_unit_test(what_cannot_be_told_is_missing),
        cmocka_unit_test(interval_covers_over_uneven_blocks),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
