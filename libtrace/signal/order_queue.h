/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers that come at one end and go at the other, known by rank: a ring in the order in which
 * they came beside a sorted array.  The k-th smallest stands in place k.  A number takes O(log n)
 * steps to find and a move of what lies between its place and that of the number that it replaces:
 * for up to some thousand numbers less than any tree takes. */
#ifndef SHOT_SIGNAL_ORDER_QUEUE_H
#define SHOT_SIGNAL_ORDER_QUEUE_H

#include <stddef.h>

#include <shottrace/status.h>

/* A zeroed one is empty. */
typedef struct order_queue {
    double *sorted; /* rising   [count] */
    double *ring;   /* [room] */
    size_t count, room;
    size_t oldest; /* its place in the ring */
} order_queue;

/* Make room for so many numbers in all; what it held is forgotten if that is more than there was.
 * SHOT_ERR_MEMORY. */
shot_status order_queue_init(order_queue *queue, size_t room);
void order_queue_clear(order_queue *queue);
void order_queue_free(order_queue *queue);

/* Append a number (not NaN), for which there is room. */
void order_queue_push(order_queue *queue, double value);

/* Let the oldest go; there is one. */
void order_queue_drop(order_queue *queue);

/* Drop and push in one. */
void order_queue_slide(order_queue *queue, double value);

#endif
