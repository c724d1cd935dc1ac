/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A crew of one: what it is told goes through the filters and on at once, with no copy and no
 * thread between.  Of a shot whose filters have failed the rest is left out. */
#include "chain/crew_parts.h"

shot_status shot_crew_stay_alone(crew *self, shot_error *error) {
    SHOT_TRY(shot_gate_new(NULL, self->next, &self->gate, error));
    self->through = shot_tally_of(NULL, self->gate);
    return SHOT_OK;
}

/* Take the outcome of a call.  A failure of what is behind the filters is the stream's, any other
 * one the shot's; after that filters may only be freed. */
static shot_status settle(crew *self, shot_status status, const shot_error *what,
                          shot_error *error) {
    job *one = self->oldest;
    if (status != SHOT_OK && shot_gate_has_failed(self->gate)) {
        if (error != NULL)
            *error = *what;
        return shot_crew_refused(status, one, error);
    }
    if (status == SHOT_OK)
        return SHOT_OK;
    one->status = status;
    one->error = *what;
    shot_worker_drop_filters(&self->workers[0]);
    return SHOT_OK;
}

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    crew *self = (crew *)sink;
    worker *one = &self->workers[0];
    shot_error what = {0};
    SHOT_TRY(shot_crew_add_job(self, head, error));
    self->through.of = self->oldest;
    shot_status status = one->first == NULL ? shot_worker_make_filters(one, &what) : SHOT_OK;
    if (status == SHOT_OK)
        status = shot_sink_begin(one->first, head, &what);
    return settle(self, status, &what, error);
}

/* NULL if the current shot has failed. */
static shot_sink *filters_of(crew *self) {
    return self->oldest->status == SHOT_OK ? self->workers[0].first : NULL;
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    crew *self = (crew *)sink;
    shot_sink *first = filters_of(self);
    shot_error what = {0};
    return first == NULL ? SHOT_OK
                         : settle(self, shot_sink_rows(first, block, &what), &what, error);
}

static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    crew *self = (crew *)sink;
    shot_sink *first = filters_of(self);
    shot_error what = {0};
    return first == NULL ? SHOT_OK : settle(self, shot_sink_mark(first, one, &what), &what, error);
}

static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    crew *self = (crew *)sink;
    shot_sink *first = filters_of(self);
    shot_error what = {0};
    return first == NULL ? SHOT_OK : settle(self, shot_sink_line(first, one, &what), &what, error);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    crew *self = (crew *)sink;
    shot_sink *first = filters_of(self);
    shot_error what = {0};
    if (first != NULL)
        SHOT_TRY(settle(self, shot_sink_end(first, cut, &what), &what, error));
    return shot_crew_finish_job(self, self->oldest, error);
}

static shot_status pause(shot_sink *sink, shot_error *error) {
    return shot_sink_pause(((crew *)sink)->next, error);
}

static shot_status close(shot_sink *sink, bool cut, shot_error *error) {
    crew *self = (crew *)sink;
    SHOT_TRY(shot_sink_close(self->next, cut || self->cut, error));
    return shot_crew_close_filters(self, cut, error);
}

const shot_sink_calls shot_crew_alone_calls = {begin, rows,  mark,  line,
                                               end,   pause, close, shot_crew_release};
