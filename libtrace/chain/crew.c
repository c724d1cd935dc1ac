/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shots spread over threads: the caller's side. */
#include <stdio.h>
#include <stdlib.h>

#include <shottrace/trace/stage.h>
#include <shottrace/trace/text.h>

#include "chain/crew_parts.h"

enum { BATCH_ROWS = 4096, MOST_WAITING = 2 };

/* ---- handing on, in the caller's thread ---- */

/* Tell a person which shot of which file failed, and why. */
static void name_failure(crew *self, job *one) {
    shot_gate_name_shot(one->status, one->shot, &one->error);
    const char *what = one->error.what[0] ? one->error.what : shot_status_text(one->status);
    self->failures++;
    if (one->file != NULL)
        shot_notice_say(&self->notice, "%s: %s", one->file, what);
    else
        shot_notice_say(&self->notice, "%s", what);
}

static shot_status tally_begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    ((tally *)sink)->of->begun = true;
    ((tally *)sink)->of->ended = false;
    return shot_sink_begin(((tally *)sink)->stage.next, head, error);
}

static shot_status tally_end(shot_sink *sink, bool cut, shot_error *error) {
    ((tally *)sink)->of->ended = true;
    return shot_stage_end(sink, cut, error);
}

static const shot_sink_calls tally_calls = {.begin = tally_begin,
                                            .rows = shot_stage_rows,
                                            .mark = shot_stage_mark,
                                            .line = shot_stage_line,
                                            .end = tally_end};

tally shot_tally_of(job *one, shot_sink *next) {
    return (tally){.stage = {.sink = {&tally_calls}, .next = next}, .of = one};
}

shot_status shot_crew_refused(shot_status status, const job *one, shot_error *error) {
    shot_gate_name_shot(status, one->shot, error);
    if (shot_status_of_shot(status) && error != NULL && error->source[0] == '\0' &&
        one->file != NULL)
        snprintf(error->source, sizeof error->source, "%s", one->file);
    return status;
}

static shot_status hand_on_batch(crew *self, job *one, batch *out, shot_error *error) {
    tally through = shot_tally_of(one, self->next);
    shot_status status =
        shot_recorder_replay(&out->events, &through.stage.sink, &self->notice, error);
    shot_batch_free(out);
    return shot_crew_refused(status, one, error);
}

shot_status shot_crew_finish_job(crew *self, job *one, shot_error *error) {
    shot_status status = SHOT_OK;
    if (one->status != SHOT_OK) {
        name_failure(self, one);
        self->cut = true;
        if (one->begun && !one->ended)
            status = shot_sink_end(self->next, true, error);
    }
    pthread_mutex_lock(&self->lock);
    self->oldest = one->next;
    if (self->oldest == NULL)
        self->newest = NULL;
    self->in_flight--;
    pthread_mutex_unlock(&self->lock);
    shot_job_free(one);
    return status;
}

/* Hand on what the oldest job has; true in *more if it is done and another may follow. */
static shot_status hand_on_oldest(crew *self, bool *more, shot_error *error) {
    *more = false;
    job *one = self->oldest;
    if (one == NULL)
        return SHOT_OK;
    for (;;) {
        pthread_mutex_lock(&self->lock);
        batch *out = shot_batches_take(&one->out);
        bool done = out == NULL && one->done;
        pthread_mutex_unlock(&self->lock);
        if (out == NULL && !done)
            return SHOT_OK;
        if (done) {
            *more = true;
            return shot_crew_finish_job(self, one, error);
        }
        SHOT_TRY(hand_on_batch(self, one, out, error));
    }
}

static shot_status hand_on_ready(crew *self, shot_error *error) {
    bool more = true;
    while (more)
        SHOT_TRY(hand_on_oldest(self, &more, error));
    return SHOT_OK;
}

static bool all_idle(const crew *self) {
    for (const job *one = self->oldest; one != NULL; one = one->next)
        if (!one->done && !(one->idle && one->in.first == NULL))
            return false;
    return true;
}

/* Wait until every worker has taken all that it was given. */
static void wait_idle(crew *self) {
    pthread_mutex_lock(&self->lock);
    while (!all_idle(self))
        pthread_cond_wait(&self->progress, &self->lock);
    pthread_mutex_unlock(&self->lock);
}

/* Wait until the oldest job has finished, if too many are on their way. */
static void wait_for_room(crew *self) {
    pthread_mutex_lock(&self->lock);
    while (self->in_flight >= 2 * self->worker_count + 2 && !self->oldest->done)
        pthread_cond_wait(&self->progress, &self->lock);
    pthread_mutex_unlock(&self->lock);
}

/* ---- giving out work ---- */

/* Hand what was told of the current shot to its worker. */
static void submit(crew *self, bool complete) {
    job *one = self->newest;
    batch *filled = self->filling;
    self->filling = NULL;
    pthread_mutex_lock(&self->lock);
    if (filled != NULL)
        shot_batches_add(&one->in, filled);
    one->complete = complete;
    one->idle = false;
    pthread_cond_broadcast(&self->work);
    pthread_mutex_unlock(&self->lock);
}

/* Of a shot that is longer than a batch only a few wait at its worker, and what has come out of it
 * goes on: it takes no more memory than a short one. */
static shot_status submit_full(crew *self, shot_error *error) {
    if (self->filling == NULL || self->filling->events.rows < BATCH_ROWS)
        return SHOT_OK;
    submit(self, false);
    pthread_mutex_lock(&self->lock);
    while (self->newest->in.count >= MOST_WAITING)
        pthread_cond_wait(&self->progress, &self->lock);
    pthread_mutex_unlock(&self->lock);
    return hand_on_ready(self, error);
}

/* Where the current shot is being recorded; NULL when out of memory. */
static shot_sink *record_of(crew *self) {
    if (self->filling == NULL)
        self->filling = shot_batch_new();
    return self->filling ? &self->filling->events.sink : NULL;
}

static shot_status no_memory(shot_error *error) {
    return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for a shot");
}

shot_status shot_crew_add_job(crew *self, const shot_head *head, shot_error *error) {
    job *one = calloc(1, sizeof *one);
    if (one == NULL)
        return no_memory(error);
    one->file = shot_text_copy(*self->file);
    shot_gate_copy_name(head, one->shot);
    one->idle = true;
    pthread_mutex_lock(&self->lock);
    *(self->newest ? &self->newest->next : &self->oldest) = one;
    self->newest = one;
    self->in_flight++;
    pthread_mutex_unlock(&self->lock);
    return SHOT_OK;
}

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    crew *self = (crew *)sink;
    SHOT_TRY(hand_on_ready(self, error));
    wait_for_room(self);
    SHOT_TRY(hand_on_ready(self, error));
    SHOT_TRY(shot_crew_add_job(self, head, error));
    shot_sink *record = record_of(self);
    return record ? shot_sink_begin(record, head, error) : no_memory(error);
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    SHOT_TRY(submit_full((crew *)sink, error));
    shot_sink *record = record_of((crew *)sink);
    return record ? shot_sink_rows(record, block, error) : no_memory(error);
}

static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    shot_sink *record = record_of((crew *)sink);
    return record ? shot_sink_mark(record, one, error) : no_memory(error);
}

static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    shot_sink *record = record_of((crew *)sink);
    return record ? shot_sink_line(record, one, error) : no_memory(error);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    crew *self = (crew *)sink;
    shot_sink *record = record_of(self);
    SHOT_TRY(record ? shot_sink_end(record, cut, error) : no_memory(error));
    submit(self, true);
    return hand_on_ready(self, error);
}

static shot_status pause(shot_sink *sink, shot_error *error) {
    crew *self = (crew *)sink;
    if (self->filling != NULL)
        submit(self, false);
    wait_idle(self);
    SHOT_TRY(hand_on_ready(self, error));
    return shot_sink_pause(self->next, error);
}

static shot_status close(shot_sink *sink, bool cut, shot_error *error) {
    crew *self = (crew *)sink;
    wait_idle(self);
    SHOT_TRY(hand_on_ready(self, error));
    SHOT_TRY(shot_sink_close(self->next, cut || self->cut, error));
    return shot_crew_close_filters(self, cut, error);
}

/* ---- life ---- */

void shot_crew_release(shot_sink *sink) {
    crew *self = (crew *)sink;
    pthread_mutex_lock(&self->lock);
    self->stopping = true;
    pthread_cond_broadcast(&self->work);
    pthread_mutex_unlock(&self->lock);
    for (size_t i = 0; i < self->thread_count; i++)
        pthread_join(self->workers[i].thread, NULL);
    for (size_t i = 0; i < self->worker_count; i++) {
        shot_worker_drop_filters(&self->workers[i]);
        shot_recorder_clear(&self->workers[i].out);
    }
    for (job *one; (one = self->oldest) != NULL; shot_job_free(one))
        self->oldest = one->next;
    shot_batch_free(self->filling);
    if (self->gate != NULL)
        shot_sink_free(self->gate);
    free(self->workers);
    pthread_cond_destroy(&self->work);
    pthread_cond_destroy(&self->progress);
    pthread_mutex_destroy(&self->lock);
    free(self);
}

static const shot_sink_calls calls = {begin, rows,  mark,  line,
                                      end,   pause, close, shot_crew_release};

size_t shot_crew_failures(const shot_sink *sink) {
    return ((const crew *)sink)->failures;
}

/* All filters are made at once, so that a wrong option shows before any input is read. */
static shot_status start_workers(crew *self, size_t jobs, shot_error *error) {
    self->workers = calloc(jobs, sizeof *self->workers);
    if (self->workers == NULL)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for the chain");
    for (size_t i = 0; i < jobs; i++) {
        worker *one = &self->workers[i];
        one->crew = self;
        shot_recorder_init(&one->out);
        self->worker_count++;
        SHOT_TRY(shot_worker_make_filters(one, error));
    }
    for (size_t i = 0; jobs > 1 && i < jobs; i++) {
        if (pthread_create(&self->workers[i].thread, NULL, shot_worker_run, &self->workers[i]) != 0)
            return shot_fail(error, SHOT_ERR_MEMORY, "cannot start a thread; use --jobs 1");
        self->thread_count++;
    }
    return SHOT_OK;
}

shot_status shot_crew_new(const shot_crew_plan *plan, shot_sink **out, shot_error *error) {
    crew *self = calloc(1, sizeof *self);
    const size_t jobs = plan->jobs;
    *out = NULL;
    if (self == NULL)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for the chain");
    self->sink.calls = jobs == 1 ? &shot_crew_alone_calls : &calls;
    self->make = plan->make;
    self->user = plan->user;
    self->next = plan->next;
    self->notice = plan->notice;
    self->file = plan->file;
    pthread_mutex_init(&self->lock, NULL);
    pthread_cond_init(&self->work, NULL);
    pthread_cond_init(&self->progress, NULL);
    shot_status status = jobs == 1 ? shot_crew_stay_alone(self, error) : SHOT_OK;
    if (status == SHOT_OK)
        status = start_workers(self, jobs, error);
    if (status != SHOT_OK)
        shot_crew_release(&self->sink);
    else
        *out = &self->sink;
    return status;
}
