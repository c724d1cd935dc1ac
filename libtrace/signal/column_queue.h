/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Columns of doubles that grow at the end and give way at the front. */
#ifndef SHOT_SIGNAL_COLUMN_QUEUE_H
#define SHOT_SIGNAL_COLUMN_QUEUE_H

#include <stddef.h>

#include <shottrace/status.h>

enum { SHOT_QUEUE_COLUMNS = 3 };

/* Zeroed it is empty; column[c][front .. front + count - 1] is held. */
typedef struct shot_column_queue {
    double *column[SHOT_QUEUE_COLUMNS];
    size_t front, count, room;
} shot_column_queue;

/* The held values of a column. */
static inline double *shot_queue_column(const shot_column_queue *queue, int c) {
    return queue->column[c] + queue->front;
}

/* Make room for `more` at the end: amortised constant time each. */
shot_status shot_queue_reserve(shot_column_queue *queue, size_t more);
void shot_queue_drop(shot_column_queue *queue, size_t count);
void shot_queue_clear(shot_column_queue *queue);
void shot_queue_free(shot_column_queue *queue);

#endif
