/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A running median: the window's values in order, in an array while they are few, else in a tree,
 * sample i of the stream in slot i modulo the room of the tree. */
#include <shottrace/signal/running_median.h>

#include <math.h>
#include <stdlib.h>

#include "order_queue.h"
#include "order_tree.h"

/* Up to so many values it is quicker to move them in an array than to walk a tree. */
enum { FEW = 2048 };

struct shot_running_median {
    shot_sliding_window *window;
    order_queue queue;
    order_tree tree;
    bool many;        /* the values are in the tree */
    size_t low, high; /* the samples in order, by number */
    bool deviations;
};

shot_status shot_running_median_new(shot_reach reach, shot_missing missing, bool deviations,
                                    shot_running_median **out) {
    *out = NULL;
    shot_running_median *running = calloc(1, sizeof *running);
    if (running == NULL)
        return SHOT_ERR_MEMORY;
    running->deviations = deviations;
    const shot_status status =
        shot_sliding_window_new(reach, SHOT_ENDS_CUT, missing, &running->window);
    if (status != SHOT_OK) {
        shot_running_median_free(running);
        return status;
    }
    shot_running_median_reset(running);
    *out = running;
    return SHOT_OK;
}

void shot_running_median_free(shot_running_median *running) {
    if (running == NULL)
        return;
    shot_sliding_window_free(running->window);
    order_queue_free(&running->queue);
    order_tree_free(&running->tree);
    free(running);
}

void shot_running_median_reset(shot_running_median *running) {
    shot_sliding_window_reset(running->window);
    order_queue_clear(&running->queue);
    order_tree_clear(&running->tree);
    running->many = false;
    running->low = running->high = 0;
}

shot_status shot_running_median_push(shot_running_median *running, double t, double y) {
    return shot_sliding_window_push(running->window, t, y);
}

void shot_running_median_finish(shot_running_median *running) {
    shot_sliding_window_finish(running->window);
}

/* Room for the window in the array or in the tree, empty if it had to grow or to change over. */
static shot_status make_room(shot_running_median *running, const shot_window_view *view) {
    const bool many = running->many || view->n > FEW;
    if (many == running->many && view->n <= (many ? running->tree.room : running->queue.room))
        return SHOT_OK;
    const size_t room = view->n + view->n / 2;
    SHOT_TRY(many ? order_tree_init(&running->tree, room)
                  : order_queue_init(&running->queue, room));
    running->many = many;
    running->low = running->high = view->first;
    return SHOT_OK;
}

/* Let the tree hold the window: what has left it goes, then what has come enters. */
static void follow_in_tree(shot_running_median *running, const shot_window_view *view) {
    const size_t room = running->tree.room;
    for (; running->low < running->high && running->low < view->first; running->low++)
        order_tree_erase(&running->tree, running->low % room);
    if (running->low == running->high)
        running->low = running->high = view->first;
    for (; running->high < view->first + view->n; running->high++)
        order_tree_insert(&running->tree, running->high % room,
                          view->y[running->high - view->first]);
}

/* The same for the array, where coming and going at once costs less. */
static void follow_in_queue(shot_running_median *running, const shot_window_view *view) {
    order_queue *queue = &running->queue;
    const size_t end = view->first + view->n;
    for (; running->low < running->high && running->low < view->first; running->low++)
        if (running->high >= view->first && running->high < end)
            order_queue_slide(queue, view->y[running->high++ - view->first]);
        else
            order_queue_drop(queue);
    if (running->low == running->high)
        running->low = running->high = view->first;
    for (; running->high < end; running->high++)
        order_queue_push(queue, view->y[running->high - view->first]);
}

static inline double ranked(const shot_running_median *running, size_t k) {
    return running->many ? order_tree_select(&running->tree, k) : running->queue.sorted[k];
}

static double middle_of(double low, double high) {
    return low == high ? low : low / 2 + high / 2;
}

static double median_of(const shot_running_median *running, size_t n) {
    const double upper = ranked(running, n / 2);
    return n % 2 == 1 ? upper : middle_of(ranked(running, n / 2 - 1), upper);
}

/* The k + 1 values nearest to the median have ranks [start, start + k]: move the start up while
 * the value that would leave is farther than the one that would come. */
static size_t nearest(const shot_running_median *running, double median, size_t n, size_t k) {
    size_t low = 0, high = n - 1 - k;
    while (low < high) {
        const size_t start = low + (high - low) / 2;
        const double leaves = median - ranked(running, start);
        const double comes = ranked(running, start + k + 1) - median;
        if (leaves > comes)
            low = start + 1;
        else
            high = start;
    }
    return low;
}

/* The deviation of rank n/2 is the larger one at the ends of those nearest ranks; for an even
 * number the one below it is the larger of what is left when that end is taken away. */
static double mad_of(const shot_running_median *running, double median, size_t n) {
    const size_t k = n / 2, start = nearest(running, median, n, k);
    const double below = median - ranked(running, start);
    const double above = ranked(running, start + k) - median;
    const double upper = fmax(below, above);
    if (n % 2 == 1)
        return upper;
    const double lower = below > above ? fmax(median - ranked(running, start + 1), above)
                                       : fmax(below, ranked(running, start + k - 1) - median);
    return middle_of(lower, upper);
}

shot_status shot_running_median_next(shot_running_median *running, shot_median_at *at,
                                     bool *ready) {
    shot_window_view view;
    *ready = shot_sliding_window_next(running->window, &view);
    if (!*ready)
        return SHOT_OK;
    *at = (shot_median_at){view.at, view.value, NAN, NAN, view.n};
    if (view.n == 0)
        return SHOT_OK;
    SHOT_TRY(make_room(running, &view));
    if (running->many)
        follow_in_tree(running, &view);
    else
        follow_in_queue(running, &view);
    at->median = median_of(running, view.n);
    if (running->deviations)
        at->mad = mad_of(running, at->median, view.n);
    return SHOT_OK;
}
