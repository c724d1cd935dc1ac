/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The filters of one thread of a crew, and what it runs. */
#include <stdlib.h>

#include "chain/crew_parts.h"

void shot_worker_drop_filters(worker *self) {
    for (size_t i = self->count; i-- > 0;)
        shot_sink_free(self->made[i]);
    free(self->made);
    self->made = NULL;
    self->first = NULL;
    self->count = 0;
}

shot_status shot_worker_make_filters(worker *self, shot_error *error) {
    crew *all = self->crew;
    const bool alone = all->gate != NULL;
    self->notice = alone ? all->notice : (shot_notice){shot_recorder_say, &self->out};
    shot_status status = all->make(all->user, alone ? &all->through.stage.sink : &self->out.sink,
                                   &self->notice, &self->first, &self->made, &self->count, error);
    if (status != SHOT_OK)
        shot_worker_drop_filters(self);
    return status;
}

/* What stands behind them is closed by the crew, once. */
shot_status shot_crew_close_filters(crew *self, bool cut, shot_error *error) {
    shot_status status = SHOT_OK;
    for (size_t i = 0; i < self->worker_count; i++) {
        shot_sink *first = self->workers[i].first;
        shot_error *place = status == SHOT_OK ? error : NULL;
        const shot_status own = first != NULL ? shot_sink_close(first, cut, place) : SHOT_OK;
        status = status == SHOT_OK ? own : status;
    }
    return status;
}

/* After a failure filters may only be freed: the next shot gets new ones. */
static shot_status run_batch(worker *self, const batch *one, shot_error *error) {
    if (self->first == NULL)
        SHOT_TRY(shot_worker_make_filters(self, error));
    shot_status status = shot_recorder_replay(&one->events, self->first, &self->notice, error);
    if (status != SHOT_OK)
        shot_worker_drop_filters(self);
    return status;
}

/* Take a batch through the filters and put what came out behind the job's results.  Called with
 * the lock held, which is free meanwhile. */
static void process(worker *self, job *one, batch *in) {
    crew *all = self->crew;
    shot_error error = {0};
    shot_status status = one->status;
    pthread_mutex_unlock(&all->lock);
    if (status == SHOT_OK)
        status = run_batch(self, in, &error);
    shot_batch_free(in);
    batch *out = shot_batch_new();
    if (out != NULL) {
        out->events = self->out;
        shot_recorder_init(&self->out);
    } else {
        shot_recorder_clear(&self->out);
        status = SHOT_ERR_MEMORY;
    }
    pthread_mutex_lock(&all->lock);
    if (out != NULL)
        shot_batches_add(&one->out, out);
    if (status != SHOT_OK && one->status == SHOT_OK) {
        one->status = status;
        one->error = error;
    }
    pthread_cond_broadcast(&all->progress);
}

static job *claim(crew *all) {
    for (job *one = all->oldest; one != NULL; one = one->next)
        if (!one->claimed) {
            one->claimed = true;
            return one;
        }
    return NULL;
}

static void work_on(worker *self, job *one) {
    crew *all = self->crew;
    while (!all->stopping && !one->done) {
        batch *in = shot_batches_take(&one->in);
        if (in != NULL) {
            one->idle = false;
            process(self, one, in);
        } else if (one->complete) {
            one->done = true;
        } else {
            one->idle = true;
            pthread_cond_broadcast(&all->progress);
            pthread_cond_wait(&all->work, &all->lock);
        }
    }
    pthread_cond_broadcast(&all->progress);
}

void *shot_worker_run(void *user) {
    worker *self = user;
    crew *all = self->crew;
    pthread_mutex_lock(&all->lock);
    while (!all->stopping) {
        job *one = claim(all);
        if (one != NULL)
            work_on(self, one);
        else
            pthread_cond_wait(&all->work, &all->lock);
    }
    pthread_mutex_unlock(&all->lock);
    return NULL;
}
