/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A queue of pairs in two columns. */
#include "pair_queue.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* By moving those held to the front, if half of the store is free there, else by a larger store.
 * Either way each pair is moved a bounded number of times. */
shot_status pair_queue_grow(pair_queue *queue, size_t more) {
    const size_t held = queue->count - queue->base;
    double *store = queue->store;
    size_t room = queue->room;
    if (store == NULL || held > room / 2 || more > room - held) {
        room = room == 0 ? 32 : 2 * room;
        while (room - held < more && room <= SIZE_MAX / 4)
            room *= 2;
        store = room > SIZE_MAX / 2 / sizeof *store ? NULL : malloc(2 * room * sizeof *store);
        if (store == NULL)
            return SHOT_ERR_MEMORY;
    }
    if (held > 0) {
        memmove(store, queue->t, held * sizeof *store);
        memmove(store + room, queue->y, held * sizeof *store);
    }
    if (store != queue->store)
        free(queue->store);
    queue->store = queue->t = store;
    queue->y = store + room;
    queue->room = room;
    return SHOT_OK;
}

shot_status pair_queue_append(pair_queue *queue, const double *t, const double *y, size_t n) {
    const size_t held = queue->count - queue->base;
    if (n == 0)
        return SHOT_OK;
    if (queue->store == NULL || (size_t)(queue->store + queue->room - queue->t) - held < n)
        SHOT_TRY(pair_queue_grow(queue, n));
    memcpy(queue->t + held, t, n * sizeof *t);
    memcpy(queue->y + held, y, n * sizeof *y);
    queue->count += n;
    return SHOT_OK;
}

void pair_queue_clear(pair_queue *queue) {
    queue->t = queue->store;
    queue->y = queue->store == NULL ? NULL : queue->store + queue->room;
    queue->base = queue->count = 0;
}

void pair_queue_free(pair_queue *queue) {
    free(queue->store);
    *queue = (pair_queue){0};
}
