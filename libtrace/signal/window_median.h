/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The median, and the median absolute deviation about it, of the samples of a window that slides:
 * they are kept in order, so that a step of the window costs little. */
#ifndef SHOT_SIGNAL_WINDOW_MEDIAN_H
#define SHOT_SIGNAL_WINDOW_MEDIAN_H

#include <stdbool.h>

#include <shottrace/signal/sliding_window.h>

#include "order_queue.h"
#include "order_tree.h"

/* A zeroed one holds no samples. */
typedef struct window_median {
    order_queue queue;
    order_tree tree;
    bool many;        /* the values are in the tree */
    size_t low, high; /* the samples in order, by number */
} window_median;

/* Hold the samples of a window, at least one; in less time where it neither begins nor ends before
 * the one held.  SHOT_ERR_MEMORY. */
shot_status window_median_follow(window_median *median, const shot_window_view *view);

/* Of the n samples held, n >= 1. */
double window_median_value(const window_median *window, size_t n);
double window_median_mad(const window_median *window, double median, size_t n);

/* The mean of the two middle ones; the sum could overflow. */
static inline double window_median_middle(double low, double high) {
    return low == high ? low : low / 2 + high / 2;
}

/* Forget the samples; the memory is kept. */
void window_median_clear(window_median *median);
void window_median_free(window_median *median);

#endif
