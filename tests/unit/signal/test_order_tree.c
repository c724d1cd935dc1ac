/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the order tree agrees with a sorted array through any sequence of insertions and
 * removals, with many equal keys. */
#include <support/check.h>

#include <shottrace/signal/random.h>
#include <shottrace/signal/sample_quantile.h>
#include <signal/order_tree.h>

enum { ROOM = 64 };

static void check_ranks(const order_tree *tree, const double *key, const int *in) {
    double sorted[ROOM];
    size_t n = 0;
    for (size_t slot = 0; slot < ROOM; slot++)
        if (in[slot])
            sorted[n++] = key[slot];
    shot_sample_quantile_sort(sorted, n);
    assert_int_equal(tree->root == ORDER_NONE ? 0 : tree->nodes[tree->root].size, n);
    for (size_t k = 0; k < n; k++)
        assert_true(order_tree_select(tree, k) == sorted[k]);
}

static void ranks_are_those_of_the_sorted_array(void **state) {
    shot_random random = shot_random_at(21, 0);
    order_tree tree = {0};
    double key[ROOM];
    int in[ROOM] = {0};
    assert_int_equal(order_tree_init(&tree, ROOM), SHOT_OK);
    for (int step = 0; step < 20000; step++) {
        const size_t slot = (size_t)shot_random_below(&random, ROOM);
        if (in[slot]) {
            order_tree_erase(&tree, slot);
        } else {
            /* now a few values only, now all different */
            key[slot] = step / 1000 % 2 ? (double)shot_random_below(&random, 4)
                                        : shot_random_normal(&random);
            order_tree_insert(&tree, slot, key[slot]);
        }
        in[slot] = !in[slot];
        if (step % 7 == 0)
            check_ranks(&tree, key, in);
    }
    order_tree_clear(&tree);
    assert_true(tree.root == ORDER_NONE);
    order_tree_free(&tree);
}

/* Keys that come in order would make a list of a tree that is not balanced: 10^6 of them would
 * take hours, and overflow the stack. */
static void rising_keys_keep_it_balanced(void **state) {
    const size_t n = 300000;
    order_tree tree = {0};
    assert_int_equal(order_tree_init(&tree, n), SHOT_OK);
    for (size_t i = 0; i < n; i++)
        order_tree_insert(&tree, i, (double)i);
    for (size_t k = 0; k < n; k += 997)
        assert_true(order_tree_select(&tree, k) == (double)k);
    for (size_t i = 0; i < n; i++)
        order_tree_erase(&tree, i);
    assert_true(tree.root == ORDER_NONE);
    order_tree_free(&tree);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ranks_are_those_of_the_sorted_array),
        cmocka_unit_test(rising_keys_keep_it_balanced),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
