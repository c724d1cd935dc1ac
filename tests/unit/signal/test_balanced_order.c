/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: that no setting is favoured by its place, its neighbours or a person's hand. */
#include <support/check.h>

#include <string.h>

#include <shottrace/signal/balanced_order.h>

enum { MOST = 7 };

/* Each round has each setting once, and over a whole design each stands in each place equally often
 * and comes directly behind each other one equally often (Williams 1949). */
static void every_setting_follows_every_other_one_alike(void **state) {
    for (size_t k = 2; k <= MOST; k++) {
        const size_t rounds = k % 2 == 0 ? k : 2 * k, often = rounds / k;
        size_t order[2 * MOST * MOST], behind[MOST][MOST] = {{0}}, at[MOST][MOST] = {{0}};
        shot_random random = shot_random_at(5, k);
        assert_int_equal(shot_balanced_order(k, rounds, &random, order), SHOT_OK);
        for (size_t i = 0; i < rounds * k; i++) {
            at[order[i]][i % k]++;
            if (i % k > 0)
                behind[order[i - 1]][order[i]]++;
        }
        for (size_t a = 0; a < k; a++)
            for (size_t b = 0; b < k; b++) {
                assert_int_equal(at[a][b], often);
                assert_int_equal(behind[a][b], a == b ? 0 : often);
            }
    }
}

/* Another seed, another order: either of two settings begins about as often. */
static void the_first_is_drawn(void **state) {
    int first = 0;
    for (uint64_t seed = 0; seed < 400; seed++) {
        size_t order[2];
        shot_random random = shot_random_at(seed, 0);
        assert_int_equal(shot_balanced_order(2, 1, &random, order), SHOT_OK);
        assert_int_equal(order[0] + order[1], 1);
        first += order[0] == 0;
    }
    assert_in_range(first, 160, 240); /* four binomial errors */
}

static void one_setting_is_an_order_too(void **state) {
    size_t order[3] = {9, 9, 9};
    shot_random random = shot_random_at(1, 0);
    assert_int_equal(shot_balanced_order(1, 3, &random, order), SHOT_OK);
    assert_int_equal(order[0] + order[1] + order[2], 0);
    assert_int_equal(shot_balanced_order(0, 3, &random, order), SHOT_ERR_RANGE);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_setting_follows_every_other_one_alike),
        cmocka_unit_test(the_first_is_drawn),
        cmocka_unit_test(one_setting_is_an_order_too),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
