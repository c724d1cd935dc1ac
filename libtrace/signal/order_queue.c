/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A ring and a sorted array of the same numbers. */
#include "order_queue.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

shot_status order_queue_init(order_queue *queue, size_t room) {
    double *numbers = room > SIZE_MAX / 2 / sizeof *numbers
                          ? NULL
                          : realloc(queue->sorted, 2 * room * sizeof *numbers);
    if (numbers == NULL)
        return SHOT_ERR_MEMORY;
    *queue = (order_queue){.sorted = numbers, .ring = numbers + room, .room = room};
    return SHOT_OK;
}

void order_queue_clear(order_queue *queue) {
    queue->count = queue->oldest = 0;
}

void order_queue_free(order_queue *queue) {
    free(queue->sorted);
    *queue = (order_queue){0};
}

/* How many are less than x.  The halves are chosen without a branch, since which one it is cannot
 * be foreseen. */
static size_t place_of(const order_queue *queue, double x) {
    const double *from = queue->sorted;
    size_t n = queue->count;
    if (n == 0)
        return 0;
    while (n > 1) {
        const size_t half = n / 2;
        from += from[half - 1] < x ? half : 0;
        n -= half;
    }
    return (size_t)(from - queue->sorted) + (*from < x);
}

static size_t wrapped(const order_queue *queue, size_t place) {
    return place < queue->room ? place : place - queue->room;
}

/* The oldest, which leaves the ring. */
static double take_oldest(order_queue *queue) {
    const double value = queue->ring[queue->oldest];
    queue->oldest = wrapped(queue, queue->oldest + 1);
    return value;
}

void order_queue_push(order_queue *queue, double value) {
    double *place = queue->sorted + place_of(queue, value);
    const size_t behind = (size_t)(queue->sorted + queue->count - place);
    memmove(place + 1, place, behind * sizeof *place);
    *place = value;
    queue->ring[wrapped(queue, queue->oldest + queue->count)] = value;
    queue->count++;
}

void order_queue_drop(order_queue *queue) {
    double *place = queue->sorted + place_of(queue, take_oldest(queue));
    queue->count--;
    const size_t behind = (size_t)(queue->sorted + queue->count - place);
    memmove(place, place + 1, behind * sizeof *place);
}

void order_queue_slide(order_queue *queue, double value) {
    const size_t free_place = wrapped(queue, queue->oldest + queue->count);
    const size_t from = place_of(queue, take_oldest(queue)), to = place_of(queue, value);
    double *sorted = queue->sorted;
    if (to > from) {
        memmove(sorted + from, sorted + from + 1, (to - from - 1) * sizeof *sorted);
        sorted[to - 1] = value;
    } else {
        memmove(sorted + to + 1, sorted + to, (from - to) * sizeof *sorted);
        sorted[to] = value;
    }
    queue->ring[free_place] = value;
}
