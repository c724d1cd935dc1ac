/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The values of a window in order: in an array while they are few, else in a tree, sample i of the
 * stream in slot i modulo the room of the tree. */
#include "window_median.h"

#include <math.h>

/* Up to so many values it is quicker to move them in an array than to walk a tree. */
enum { FEW = 2048 };

void window_median_clear(window_median *median) {
    order_queue_clear(&median->queue);
    order_tree_clear(&median->tree);
    median->many = false;
    median->low = median->high = 0;
}

void window_median_free(window_median *median) {
    order_queue_free(&median->queue);
    order_tree_free(&median->tree);
}

/* Room for the window in the array or in the tree, empty if it had to grow or to change over. */
static shot_status make_room(window_median *median, const shot_window_view *view) {
    const bool many = median->many || view->n > FEW;
    if (many == median->many && view->n <= (many ? median->tree.room : median->queue.room))
        return SHOT_OK;
    const size_t room = view->n + view->n / 2;
    SHOT_TRY(many ? order_tree_init(&median->tree, room) : order_queue_init(&median->queue, room));
    median->many = many;
    median->low = median->high = view->first;
    return SHOT_OK;
}

/* Let the tree hold the window: what has left it goes, then what has come enters. */
static void follow_in_tree(window_median *median, const shot_window_view *view) {
    const size_t room = median->tree.room;
    for (; median->low < median->high && median->low < view->first; median->low++)
        order_tree_erase(&median->tree, median->low % room);
    if (median->low == median->high)
        median->low = median->high = view->first;
    for (; median->high < view->first + view->n; median->high++)
        order_tree_insert(&median->tree, median->high % room, view->y[median->high - view->first]);
}

/* The same for the array, where coming and going at once costs less. */
static void follow_in_queue(window_median *median, const shot_window_view *view) {
    order_queue *queue = &median->queue;
    const size_t end = view->first + view->n;
    for (; median->low < median->high && median->low < view->first; median->low++)
        if (median->high >= view->first && median->high < end)
            order_queue_slide(queue, view->y[median->high++ - view->first]);
        else
            order_queue_drop(queue);
    if (median->low == median->high)
        median->low = median->high = view->first;
    for (; median->high < end; median->high++)
        order_queue_push(queue, view->y[median->high - view->first]);
}

shot_status window_median_follow(window_median *median, const shot_window_view *view) {
    if (view->first < median->low || view->first + view->n < median->high)
        window_median_clear(median);
    SHOT_TRY(make_room(median, view));
    if (median->many)
        follow_in_tree(median, view);
    else
        follow_in_queue(median, view);
    return SHOT_OK;
}

static inline double ranked(const window_median *window, size_t k) {
    return window->many ? order_tree_select(&window->tree, k) : window->queue.sorted[k];
}

double window_median_value(const window_median *window, size_t n) {
    const double upper = ranked(window, n / 2);
    return n % 2 == 1 ? upper : window_median_middle(ranked(window, n / 2 - 1), upper);
}

/* The k + 1 values nearest to the median have ranks [start, start + k]: move the start up while
 * the value that would leave is farther than the one that would come. */
static size_t nearest(const window_median *window, double median, size_t n, size_t k) {
    size_t low = 0, high = n - 1 - k;
    while (low < high) {
        const size_t start = low + (high - low) / 2;
        const double leaves = median - ranked(window, start);
        const double comes = ranked(window, start + k + 1) - median;
        if (leaves > comes)
            low = start + 1;
        else
            high = start;
    }
    return low;
}

/* The deviation of rank n/2 is the larger one at the ends of those nearest ranks; for an even
 * number the one below it is the larger of what is left when that end is taken away. */
double window_median_mad(const window_median *window, double median, size_t n) {
    const size_t k = n / 2, start = nearest(window, median, n, k);
    const double below = median - ranked(window, start);
    const double above = ranked(window, start + k) - median;
    const double upper = fmax(below, above);
    if (n % 2 == 1)
        return upper;
    const double lower = below > above ? fmax(median - ranked(window, start + 1), above)
                                       : fmax(below, ranked(window, start + k - 1) - median);
    return window_median_middle(lower, upper);
}
