/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A sorted collection of numbers with a quick answer to "which is the k-th smallest": a treap, a
 * search tree that random priorities keep balanced, each node counting those beneath it.
 *
 * Numbers live in slots that the caller names, so that a number can be taken out again without a
 * search among its equals.  All operations take O(log n) steps on average, whatever the data.
 *
 * Source: Seidel & Aragon 1996, 'Randomized search trees', Algorithmica 16:464-497.
 */
#ifndef SHOT_SIGNAL_ORDER_TREE_H
#define SHOT_SIGNAL_ORDER_TREE_H

#include <stddef.h>
#include <stdint.h>

#include <shottrace/status.h>

#define ORDER_NONE SIZE_MAX /* no slot: an empty tree, no child */

typedef struct order_node {
    double key;
    size_t left, right; /* slots, or ORDER_NONE */
    size_t size;        /* of this node and all beneath */
    uint64_t priority;
} order_node;

typedef struct order_tree {
    order_node *nodes; /* [room] */
    size_t room, root;
} order_tree;

/* Make an empty tree of slots 0..room-1; what it held is forgotten.  SHOT_ERR_MEMORY. */
shot_status order_tree_init(order_tree *tree, size_t room);
void order_tree_clear(order_tree *tree);
void order_tree_free(order_tree *tree);

/* Put `key` (not NaN) into a slot that is not in the tree. */
void order_tree_insert(order_tree *tree, size_t slot, double key);

/* Take a slot that is in the tree out of it. */
void order_tree_erase(order_tree *tree, size_t slot);

/* The k-th smallest, k from 0 to size - 1. */
double order_tree_select(const order_tree *tree, size_t k);

#endif
