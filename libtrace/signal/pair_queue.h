/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pairs of numbers that come at one end and go at the other, each column in one piece of memory. */
#ifndef SHOT_SIGNAL_PAIR_QUEUE_H
#define SHOT_SIGNAL_PAIR_QUEUE_H

#include <stddef.h>

#include <shottrace/status.h>

/* A zeroed queue is empty.  t[0] is pair number `base` since the start. */
typedef struct pair_queue {
    double *t, *y; /* [count - base] */
    size_t base, count;
    double *store; /* [2][room] */
    size_t room;
} pair_queue;

/* Make room for `more` pairs at the end.  SHOT_ERR_MEMORY. */
shot_status pair_queue_grow(pair_queue *queue, size_t more);

/* Append n pairs.  SHOT_ERR_MEMORY. */
shot_status pair_queue_append(pair_queue *queue, const double *t, const double *y, size_t n);

/* Append: amortised constant time.  SHOT_ERR_MEMORY. */
static inline shot_status pair_queue_push(pair_queue *queue, double t, double y) {
    if (queue->store == NULL ||
        queue->t + (queue->count - queue->base) == queue->store + queue->room)
        SHOT_TRY(pair_queue_grow(queue, 1));
    const size_t held = queue->count - queue->base;
    queue->t[held] = t;
    queue->y[held] = y;
    queue->count++;
    return SHOT_OK;
}

/* Let all pairs before number `base` go; base <= count. */
static inline void pair_queue_drop(pair_queue *queue, size_t base) {
    queue->t += base - queue->base;
    queue->y += base - queue->base;
    queue->base = base;
}

/* Forget all pairs, keep the memory. */
void pair_queue_clear(pair_queue *queue);
void pair_queue_free(pair_queue *queue);

#endif
