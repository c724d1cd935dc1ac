/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Columns of doubles that grow at the end and give way at the front. */
#include "signal/column_queue.h"

#include <stdlib.h>
#include <string.h>

shot_status shot_queue_reserve(shot_column_queue *queue, size_t more) {
    if (queue->front + queue->count + more <= queue->room)
        return SHOT_OK;
    if (queue->front >= queue->count) { /* moving pays when as many were dropped as are held */
        for (int c = 0; c < SHOT_QUEUE_COLUMNS && queue->count > 0; c++)
            memmove(queue->column[c], shot_queue_column(queue, c), queue->count * sizeof(double));
        queue->front = 0;
    }
    size_t room = queue->room ? queue->room : 64;
    while (room < queue->front + queue->count + more)
        room *= 2;
    for (int c = 0; c < SHOT_QUEUE_COLUMNS && room > queue->room; c++) {
        double *column = realloc(queue->column[c], room * sizeof *column);
        if (column == NULL)
            return SHOT_ERR_MEMORY;
        queue->column[c] = column;
    }
    queue->room = room;
    return SHOT_OK;
}

void shot_queue_drop(shot_column_queue *queue, size_t count) {
    queue->front += count;
    queue->count -= count;
}

void shot_queue_clear(shot_column_queue *queue) {
    queue->front = queue->count = 0;
}

void shot_queue_free(shot_column_queue *queue) {
    for (int c = 0; c < SHOT_QUEUE_COLUMNS; c++)
        free(queue->column[c]);
    *queue = (shot_column_queue){0};
}
