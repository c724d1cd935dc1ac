/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The treap.  Equal keys are ordered by slot, so that every node has one place. */
#include "order_tree.h"

#include <stdbool.h>
#include <stdlib.h>

/* A priority that looks random and is the same in every run: the mixing function of splitmix64
 * (Steele, Lea & Flood 2014, 'Fast splittable pseudorandom number generators', OOPSLA). */
static uint64_t mix(uint64_t z) {
    z += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

shot_status order_tree_init(order_tree *tree, size_t room) {
    if (room > SIZE_MAX / sizeof *tree->nodes)
        return SHOT_ERR_MEMORY;
    order_node *nodes = realloc(tree->nodes, room * sizeof *nodes);
    if (nodes == NULL && room > 0)
        return SHOT_ERR_MEMORY;
    for (size_t slot = 0; slot < room; slot++)
        nodes[slot].priority = mix(slot);
    *tree = (order_tree){nodes, room, ORDER_NONE};
    return SHOT_OK;
}

void order_tree_clear(order_tree *tree) {
    tree->root = ORDER_NONE;
}

void order_tree_free(order_tree *tree) {
    free(tree->nodes);
    *tree = (order_tree){NULL, 0, ORDER_NONE};
}

static size_t size_of(const order_tree *tree, size_t slot) {
    return slot == ORDER_NONE ? 0 : tree->nodes[slot].size;
}

static void count(order_tree *tree, size_t slot) {
    order_node *node = &tree->nodes[slot];
    node->size = 1 + size_of(tree, node->left) + size_of(tree, node->right);
}

static bool precedes(const order_tree *tree, size_t a, size_t b) {
    const double x = tree->nodes[a].key, y = tree->nodes[b].key;
    return x < y || (x == y && a < b);
}

/* Cut the subtree at `top` into what precedes `slot` and the rest. */
static void split(order_tree *tree, size_t top, size_t slot, size_t *before, size_t *after) {
    if (top == ORDER_NONE) {
        *before = *after = ORDER_NONE;
        return;
    }
    order_node *node = &tree->nodes[top];
    if (precedes(tree, top, slot)) {
        split(tree, node->right, slot, &node->right, after);
        *before = top;
    } else {
        split(tree, node->left, slot, before, &node->left);
        *after = top;
    }
    count(tree, top);
}

/* Join two subtrees, all of the first before all of the second. */
static size_t join(order_tree *tree, size_t before, size_t after) {
    if (before == ORDER_NONE || after == ORDER_NONE)
        return before == ORDER_NONE ? after : before;
    size_t top = before;
    if (tree->nodes[before].priority > tree->nodes[after].priority) {
        tree->nodes[before].right = join(tree, tree->nodes[before].right, after);
    } else {
        top = after;
        tree->nodes[after].left = join(tree, before, tree->nodes[after].left);
    }
    count(tree, top);
    return top;
}

void order_tree_insert(order_tree *tree, size_t slot, double key) {
    order_node *node = &tree->nodes[slot];
    node->key = key;
    size_t *link = &tree->root;
    while (*link != ORDER_NONE && tree->nodes[*link].priority > node->priority) {
        order_node *above = &tree->nodes[*link];
        above->size++;
        link = precedes(tree, *link, slot) ? &above->right : &above->left;
    }
    split(tree, *link, slot, &node->left, &node->right);
    *link = slot;
    count(tree, slot);
}

void order_tree_erase(order_tree *tree, size_t slot) {
    size_t *link = &tree->root;
    while (*link != slot) {
        order_node *above = &tree->nodes[*link];
        above->size--;
        link = precedes(tree, *link, slot) ? &above->right : &above->left;
    }
    *link = join(tree, tree->nodes[slot].left, tree->nodes[slot].right);
}

double order_tree_select(const order_tree *tree, size_t k) {
    const order_node *node = &tree->nodes[tree->root];
    for (size_t before; (before = size_of(tree, node->left)) != k;) {
        node = &tree->nodes[k < before ? node->left : node->right];
        k -= k < before ? 0 : before + 1;
    }
    return node->key;
}
