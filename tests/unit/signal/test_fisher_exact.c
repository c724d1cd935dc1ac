/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: Fisher's exact test gives what can be counted by hand, is symmetric, and never says
 * less than it should. */
#include <support/check.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/fisher_exact.h>

static double p_of(size_t a, size_t n, size_t b, size_t m) {
    double p = NAN;
    assert_int_equal(shot_fisher_exact(a, n, b, m, &p), SHOT_OK);
    return p;
}

/* 0 of 5 and 4 of 5: 5 of the 210 ways to place 4 hits among 10, and as many the other way round.
 * Fisher's own example, a lady who names 3 of 4 cups rightly: 34 of 70 (Agresti 2002, sec. 3.5.2).
 */
static void small_tables_can_be_counted(void **state) {
    assert_rel(p_of(0, 5, 4, 5), 10.0 / 210, 1e-12);
    assert_rel(p_of(3, 4, 1, 4), 34.0 / 70, 1e-12);
    assert_rel(p_of(0, 5, 0, 5), 1, 1e-12);
    assert_rel(p_of(5, 5, 7, 7), 1, 1e-12);
}

static void sides_do_not_matter(void **state) {
    for (size_t a = 0; a <= 6; a++)
        for (size_t b = 0; b <= 9; b++) {
            assert_rel(p_of(a, 6, b, 9), p_of(b, 9, a, 6), 1e-12);
            assert_rel(p_of(a, 6, b, 9), p_of(6 - a, 6, 9 - b, 9), 1e-12);
        }
}

/* Summed over every outcome: exact, no simulation. */
static void false_alarms_are_no_more_than_the_level(void **state) {
    for (double chance = 0.05; chance < 1; chance += 0.1) {
        double alarms = 0;
        for (size_t a = 0; a <= 8; a++)
            for (size_t b = 0; b <= 11; b++)
                if (p_of(a, 8, b, 11) <= 0.05)
                    alarms += (shot_binomial_cdf((double)a, 8, chance) -
                               shot_binomial_cdf((double)a - 1, 8, chance)) *
                              (shot_binomial_cdf((double)b, 11, chance) -
                               shot_binomial_cdf((double)b - 1, 11, chance));
        assert_true(alarms <= 0.05);
    }
}

static void what_is_no_table_is_refused(void **state) {
    double p = 7;
    assert_int_equal(shot_fisher_exact(0, 0, 1, 2, &p), SHOT_ERR_RANGE);
    assert_int_equal(shot_fisher_exact(3, 2, 1, 2, &p), SHOT_ERR_RANGE);
    assert_rel(p, 7, 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(small_tables_can_be_counted),
        cmocka_unit_test(sides_do_not_matter),
        cmocka_unit_test(false_alarms_are_no_more_than_the_level),
        cmocka_unit_test(what_is_no_table_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
