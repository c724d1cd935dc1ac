/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shots on their way through a crew, and what was recorded of them. */
#include <stdlib.h>

#include "chain/crew_parts.h"

batch *shot_batch_new(void) {
    batch *one = calloc(1, sizeof *one);
    if (one != NULL)
        shot_recorder_init(&one->events);
    return one;
}

void shot_batch_free(batch *one) {
    if (one != NULL)
        shot_recorder_clear(&one->events);
    free(one);
}

void shot_batches_add(batches *list, batch *one) {
    one->next = NULL;
    *(list->last ? &list->last->next : &list->first) = one;
    list->last = one;
    list->count++;
}

batch *shot_batches_take(batches *list) {
    batch *one = list->first;
    if (one == NULL)
        return NULL;
    list->first = one->next;
    if (list->first == NULL)
        list->last = NULL;
    list->count--;
    return one;
}

void shot_job_free(job *one) {
    batch *left;
    while ((left = shot_batches_take(&one->in)) != NULL)
        shot_batch_free(left);
    while ((left = shot_batches_take(&one->out)) != NULL)
        shot_batch_free(left);
    free(one->file);
    free(one);
}
