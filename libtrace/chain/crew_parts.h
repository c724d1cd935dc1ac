/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of a crew share: shots on their way, and the workers that take them through the
 * filters.  The caller's thread gives out work and hands on results (crew.c); the workers run
 * beside it (crew_worker.c).  What both touch is behind the crew's lock.  A crew of one does its
 * work in the caller's thread (crew_alone.c). */
#ifndef SHOT_CHAIN_CREW_PARTS_H
#define SHOT_CHAIN_CREW_PARTS_H

#include <pthread.h>

#include <shottrace/trace/stage.h>

#include "chain/crew.h"
#include "chain/gate.h"
#include "chain/recorder.h"

/* A list of recorders, oldest first. */
typedef struct batch {
    shot_recorder events;
    struct batch *next;
} batch;

typedef struct batches {
    batch *first, *last;
    size_t count;
} batches;

/* One shot on its way through a worker. */
typedef struct job {
    batches in, out;
    bool claimed, complete, idle, done; /* complete: all of its input is in `in` */
    shot_status status;
    shot_error error;
    char *file, shot[SHOT_GATE_NAME_ROOM];
    bool begun, ended; /* what was handed on to the next sink */
    struct job *next;
} job;

/* Keeps account of whether a shot was begun and ended, for its job. */
typedef struct tally {
    shot_stage stage;
    job *of;
} tally;

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
    /* Of a crew of one: what its filters hand on to; the gate knows whose failure one is. */
    tally through;
    shot_sink *gate;
} crew;

/* ---- jobs (crew.c) ---- */

/* A shot begins. */
shot_status shot_crew_add_job(crew *self, const shot_head *head, shot_error *error);

/* The oldest job is done: one that failed is named, counted and, if it was begun, closed as cut. */
shot_status shot_crew_finish_job(crew *self, job *one, shot_error *error);

/* What is behind refused the shot: it came from its own file, while another may be being read. */
shot_status shot_crew_refused(shot_status status, const job *one, shot_error *error);

tally shot_tally_of(job *one, shot_sink *next);

void shot_crew_release(shot_sink *sink);

/* ---- a crew of one (crew_alone.c) ---- */

extern const shot_sink_calls shot_crew_alone_calls;

/* Before its worker gets its filters. */
shot_status shot_crew_stay_alone(crew *self, shot_error *error);

/* ---- lists (crew_lists.c) ---- */

batch *shot_batch_new(void); /* NULL without memory */
void shot_batch_free(batch *one);
void shot_batches_add(batches *list, batch *one);
batch *shot_batches_take(batches *list); /* the oldest; NULL if there is none */
void shot_job_free(job *one);

/* ---- workers (crew_worker.c) ---- */

/* New filters for the shots to come. */
shot_status shot_worker_make_filters(worker *self, shot_error *error);
void shot_worker_drop_filters(worker *self);

/* The input is over, and no worker is at work: filters say now what they lost of all their shots.
 * The first failure. */
shot_status shot_crew_close_filters(crew *self, bool cut, shot_error *error);

/* What the thread of a worker runs until the crew is stopped. */
void *shot_worker_run(void *user);

#endif
