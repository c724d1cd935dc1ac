/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shots spread over threads. */
#include "chain/crew.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/stage.h>
#include <shottrace/trace/text.h>

#include "chain/recorder.h"

enum { BATCH_ROWS = 4096 };

/* A list of recorders, oldest first. */
typedef struct batch {
    shot_recorder events;
    struct batch *next;
} batch;

typedef struct batches {
    batch *first, *last;
} batches;

/* One shot on its way through a worker. */
typedef struct job {
    batches in, out;
    bool claimed, complete, idle, done; /* complete: all of its input is in `in` */
    shot_status status;
    shot_error error;
    char *file;
    bool begun, ended; /* what was handed on to the next sink */
    struct job *next;
} job;

/* The filters of one thread. */
typedef struct worker {
    struct crew *crew;
    pthread_t thread;
    shot_recorder out;
    shot_notice notice;
    shot_sink *first, **made;
    size_t count;
} worker;

typedef struct crew {
    shot_sink sink;
    shot_crew_make make;
    void *user;
    shot_sink *next;
    shot_notice notice;
    const char *const *file;
    worker *workers;
    size_t worker_count, thread_count;
    pthread_mutex_t lock;
    pthread_cond_t work, progress;
    job *oldest, *newest;
    size_t in_flight, failures;
    batch *filling; /* what the current shot has been told since it was last handed over */
    bool stopping, cut;
} crew;

/* ---- lists ---- */

static batch *batch_new(void) {
    batch *one = calloc(1, sizeof *one);
    if (one != NULL)
        shot_recorder_init(&one->events);
    return one;
}

static void batch_free(batch *one) {
    if (one != NULL)
        shot_recorder_clear(&one->events);
    free(one);
}

static void batches_add(batches *list, batch *one) {
    one->next = NULL;
    *(list->last ? &list->last->next : &list->first) = one;
    list->last = one;
}

static batch *batches_take(batches *list) {
    batch *one = list->first;
    if (one == NULL)
        return NULL;
    list->first = one->next;
    if (list->first == NULL)
        list->last = NULL;
    return one;
}

static void job_free(job *one) {
    batch *left;
    while ((left = batches_take(&one->in)) != NULL)
        batch_free(left);
    while ((left = batches_take(&one->out)) != NULL)
        batch_free(left);
    free(one->file);
    free(one);
}

/* ---- a worker's filters ---- */

static void drop_filters(worker *self) {
    for (size_t i = self->count; i-- > 0;)
        shot_sink_free(self->made[i]);
    free(self->made);
    self->made = NULL;
    self->first = NULL;
    self->count = 0;
}

static shot_status make_filters(worker *self, shot_error *error) {
    self->notice = (shot_notice){shot_recorder_say, &self->out};
    shot_status status = self->crew->make(self->crew->user, &self->out.sink, &self->notice,
                                          &self->first, &self->made, &self->count, error);
    if (status != SHOT_OK)
        drop_filters(self);
    return status;
}

/* After a failure filters may only be freed: the next shot gets new ones. */
static shot_status run_batch(worker *self, const batch *one, shot_error *error) {
    if (self->first == NULL)
        SHOT_TRY(make_filters(self, error));
    shot_status status = shot_recorder_replay(&one->events, self->first, &self->notice, error);
    if (status != SHOT_OK)
        drop_filters(self);
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
    batch_free(in);
    batch *out = batch_new();
    if (out != NULL) {
        out->events = self->out;
        shot_recorder_init(&self->out);
    } else {
        shot_recorder_clear(&self->out);
        status = SHOT_ERR_MEMORY;
    }
    pthread_mutex_lock(&all->lock);
    if (out != NULL)
        batches_add(&one->out, out);
    if (status != SHOT_OK && one->status == SHOT_OK) {
        one->status = status;
        one->error = error;
    }
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
        batch *in = batches_take(&one->in);
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

static void *run_worker(void *user) {
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

/* ---- handing on, in the caller's thread ---- */

/* Tell a person which shot of which file failed, and why. */
static void name_failure(crew *self, const job *one) {
    const char *what = one->error.what[0] ? one->error.what : shot_status_text(one->status);
    self->failures++;
    if (one->file != NULL)
        shot_notice_say(&self->notice, "%s: %s", one->file, what);
    else
        shot_notice_say(&self->notice, "%s", what);
}

/* Keeps account of whether the shot was begun and ended. */
typedef struct tally {
    shot_stage stage;
    job *of;
} tally;

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

static shot_status hand_on_batch(crew *self, job *one, batch *out, shot_error *error) {
    tally through = {.stage = {.sink = {&tally_calls}, .next = self->next}, .of = one};
    shot_status status =
        shot_recorder_replay(&out->events, &through.stage.sink, &self->notice, error);
    batch_free(out);
    return status;
}

/* A failed shot that was begun is closed as cut. */
static shot_status finish_job(crew *self, job *one, shot_error *error) {
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
    job_free(one);
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
        batch *out = batches_take(&one->out);
        bool done = out == NULL && one->done;
        pthread_mutex_unlock(&self->lock);
        if (out == NULL && !done)
            return SHOT_OK;
        if (done) {
            *more = true;
            return finish_job(self, one, error);
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

/* Hand what was told of the current shot to its worker, or take it through here and now. */
static void submit(crew *self, bool complete) {
    job *one = self->newest;
    batch *filled = self->filling;
    self->filling = NULL;
    pthread_mutex_lock(&self->lock);
    if (filled != NULL)
        batches_add(&one->in, filled);
    one->complete = complete;
    one->idle = false;
    if (self->thread_count == 0)
        for (batch *in; (in = batches_take(&one->in)) != NULL;)
            process(&self->workers[0], one, in);
    one->done = self->thread_count == 0 ? complete : one->done;
    one->idle = self->thread_count == 0;
    pthread_cond_broadcast(&self->work);
    pthread_mutex_unlock(&self->lock);
}

/* Where the current shot is being recorded; NULL when out of memory. */
static shot_sink *record_of(crew *self) {
    if (self->filling != NULL && self->filling->events.rows >= BATCH_ROWS)
        submit(self, false);
    if (self->filling == NULL)
        self->filling = batch_new();
    return self->filling ? &self->filling->events.sink : NULL;
}

static shot_status no_memory(shot_error *error) {
    return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for a shot");
}

static shot_status add_job(crew *self, shot_error *error) {
    job *one = calloc(1, sizeof *one);
    if (one == NULL)
        return no_memory(error);
    one->file = shot_text_copy(*self->file);
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
    SHOT_TRY(add_job(self, error));
    shot_sink *record = record_of(self);
    return record ? shot_sink_begin(record, head, error) : no_memory(error);
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
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
    return shot_sink_close(self->next, cut || self->cut, error);
}

/* ---- life ---- */

static void release(shot_sink *sink) {
    crew *self = (crew *)sink;
    pthread_mutex_lock(&self->lock);
    self->stopping = true;
    pthread_cond_broadcast(&self->work);
    pthread_mutex_unlock(&self->lock);
    for (size_t i = 0; i < self->thread_count; i++)
        pthread_join(self->workers[i].thread, NULL);
    for (size_t i = 0; i < self->worker_count; i++) {
        drop_filters(&self->workers[i]);
        shot_recorder_clear(&self->workers[i].out);
    }
    for (job *one; (one = self->oldest) != NULL; job_free(one))
        self->oldest = one->next;
    batch_free(self->filling);
    free(self->workers);
    pthread_cond_destroy(&self->work);
    pthread_cond_destroy(&self->progress);
    pthread_mutex_destroy(&self->lock);
    free(self);
}

static const shot_sink_calls calls = {begin, rows, mark, line, end, pause, close, release};

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
        SHOT_TRY(make_filters(one, error));
    }
    for (size_t i = 0; jobs > 1 && i < jobs; i++) {
        if (pthread_create(&self->workers[i].thread, NULL, run_worker, &self->workers[i]) != 0)
            return shot_fail(error, SHOT_ERR_MEMORY, "cannot start a thread; use --jobs 1");
        self->thread_count++;
    }
    return SHOT_OK;
}

shot_status shot_crew_new(size_t jobs, shot_crew_make make, void *user, shot_sink *next,
                          const shot_notice *notice, const char *const *file, shot_sink **out,
                          shot_error *error) {
    crew *self = calloc(1, sizeof *self);
    *out = NULL;
    if (self == NULL)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for the chain");
    self->sink.calls = &calls;
    self->make = make;
    self->user = user;
    self->next = next;
    self->notice = *notice;
    self->file = file;
    pthread_mutex_init(&self->lock, NULL);
    pthread_cond_init(&self->work, NULL);
    pthread_cond_init(&self->progress, NULL);
    shot_status status = start_workers(self, jobs, error);
    if (status != SHOT_OK)
        release(&self->sink);
    else
        *out = &self->sink;
    return status;
}
