/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A stage that works channel by channel.  Rows wait in `held` until every kernel has given its
 * result for them; results wait in a queue of their own a channel. */
#include "filter/by_channel_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "filter/error_basis.h"
#include "filter/named_channels.h"
#include "filter/standard_errors.h"

static shot_status out_of_memory(const by_channel *self, shot_error *error) {
    return shot_fail(error, SHOT_ERR_MEMORY, "out of memory in '%s'", self->rule.filter);
}

/* ---- the channels of a shot ---- */

static shot_status make_kernel(const by_channel *self, channel_kernel *out) {
    SHOT_TRY(self->rule.make(self->stage.settings, out));
    if (self->count > 0 && out->calls->share != NULL)
        out->calls->share(out->object, self->channels[0].kernel.object);
    return SHOT_OK;
}

static shot_status add_worked(by_channel *self, size_t column) {
    if (self->count == self->room) {
        const size_t room = self->room == 0 ? 8 : 2 * self->room;
        worked *channels = realloc(self->channels, room * sizeof *channels);
        if (channels == NULL)
            return SHOT_ERR_MEMORY;
        memset(channels + self->room, 0, (room - self->room) * sizeof *channels);
        self->channels = channels;
        self->room = room;
    }
    worked *one = &self->channels[self->count];
    if (one->kernel.object == NULL)
        SHOT_TRY(make_kernel(self, &one->kernel));
    if (one->results.columns == 0)
        SHOT_TRY(shot_rows_init(&one->results, self->rule.errors ? 2 : 1));
    one->kernel.calls->reset(one->kernel.object);
    shot_rows_clear(&one->results);
    noise_watch_reset(&one->noise);
    one->noise.way.fits = self->rule.errors;
    one->column = column;
    one->name = self->head.channels[column].name;
    one->came = one->lost = one->beyond = one->bare = 0;
    one->holes = false;
    /* standard errors that are told are those of the samples, not of what takes their place */
    one->stale = self->rule.suffix == NULL ? standard_errors_channel(&self->head, one->name) : -1;
    self->count++;
    return SHOT_OK;
}

static shot_status add_named(by_channel *self, const char *name, shot_error *error) {
    size_t column;
    SHOT_TRY(named_channel_find(&self->head, name, &column, error));
    if (column == 0)
        return SHOT_OK;
    for (size_t i = 0; i < self->count; i++)
        if (self->channels[i].column == column)
            return SHOT_OK;
    return add_worked(self, column);
}

static shot_status choose_channels(by_channel *self, shot_error *error) {
    const shot_texts *wanted = self->rule.channels;
    self->count = 0;
    for (size_t i = 0; i < wanted->count; i++)
        SHOT_TRY(add_named(self, wanted->items[i], error));
    for (size_t c = 1; c < self->head.channel_count && wanted->count == 0; c++)
        if (shot_channel_is_measured(self->head.channels[c].name))
            SHOT_TRY(add_worked(self, c));
    return SHOT_OK;
}

static void correlate(const worked *one) {
    if (one->kernel.calls->correlate != NULL)
        one->kernel.calls->correlate(one->kernel.object, one->is.correlation);
}

static void look_for_noise(by_channel *self) {
    self->errors = self->rule.errors;
    self->wait = false;
    self->why_not = NULL;
    for (size_t i = 0; i < self->count; i++) {
        worked *one = &self->channels[i];
        one->is = (shot_noise_line){NAN, 0};
        one->known = shot_noise_line_find(&self->head, one->name, &one->is);
        one->told = error_basis_is_interpolated(&self->head, one->name);
        correlate(one);
        if (self->rule.errors && self->why_not == NULL)
            self->why_not = error_basis_fault(&self->head, one->name);
        self->wait = self->wait || !one->known;
    }
    self->errors = self->errors && self->why_not == NULL;
    self->wait = self->wait && self->errors;
}

/* ---- the head ---- */

static shot_status add_channel(by_channel *self, shot_head *head, const worked *one,
                               const char *tail, shot_error *error) {
    const shot_status status = standard_errors_add_channel(
        &self->head, one->column, self->rule.suffix, tail, self->rule.seconds, head, error);
    return status == SHOT_ERR_MEMORY ? out_of_memory(self, error) : status;
}

static shot_status add_channels(by_channel *self, shot_head *head, shot_error *error) {
    for (size_t i = 0; i < self->count; i++) {
        if (self->rule.suffix != NULL)
            SHOT_TRY(add_channel(self, head, &self->channels[i], "", error));
        if (self->errors)
            SHOT_TRY(add_channel(self, head, &self->channels[i], ".se", error));
    }
    return SHOT_OK;
}

static void forget_with(by_channel *self) {
    shot_head_give_back(&(shot_head){.channel_count = self->own}, &self->with);
}

static shot_status make_with(by_channel *self, shot_error *error) {
    if (shot_head_borrow(&self->head, &self->with) != SHOT_OK)
        return out_of_memory(self, error);
    self->own = self->head.channel_count;
    SHOT_TRY(add_channels(self, &self->with, error));
    const double **out = realloc(self->out, self->with.channel_count * sizeof *out);
    if (out == NULL)
        return out_of_memory(self, error);
    self->out = out;
    self->with_errors = self->errors;
    return SHOT_OK;
}

static shot_status hand_on_head(by_channel *self, shot_error *error) {
    if (self->with.channels != NULL && self->with_errors != self->errors)
        forget_with(self);
    const shot_status status = self->with.channels == NULL ? make_with(self, error) : SHOT_OK;
    if (status != SHOT_OK) {
        forget_with(self);
        return status;
    }
    self->with.name = self->head.name;
    self->with.lines = self->head.lines;
    self->with.line_count = self->head.line_count;
    return shot_stage_begin(&self->stage.sink, &self->with, error);
}

/* ---- rows ---- */

/* The noise is estimated of a channel of which nobody tells it, where it changes (the line of a
 * filter before may come behind the rows, which spares the estimate) or standard errors need it. */
static bool is_watched(const by_channel *self, const worked *one) {
    return (self->errors && isnan(one->is.sd)) ||
           (self->rule.suffix == NULL && !one->known && !one->told);
}

static shot_status watch(const by_channel *self, worked *one, const shot_block *block) {
    return is_watched(self, one) ? noise_watch_push(&one->noise, block->column[0],
                                                    block->column[one->column], block->rows)
                                 : SHOT_OK;
}

static shot_status work_on(by_channel *self, worked *one, const shot_block *block) {
    const double *t = block->column[0], *y = block->column[one->column];
    const channel_kernel *kernel = &one->kernel;
    if (kernel->calls->push_block != NULL)
        SHOT_TRY(kernel->calls->push_block(kernel->object, t, y, block->rows));
    for (size_t r = 0; r < block->rows && kernel->calls->push_block == NULL; r++) {
        SHOT_TRY(kernel->calls->push(kernel->object, t[r], y[r]));
        SHOT_TRY(by_channel_drain(self, one));
    }
    return by_channel_drain(self, one);
}

/* ---- the end of a shot ---- */

/* The noise of what was watched. */
static void learn_noise(by_channel *self) {
    for (size_t i = 0; i < self->count; i++) {
        worked *one = &self->channels[i];
        one->learned = is_watched(self, one) && noise_watch_estimate(&one->noise, &one->found);
        if (!one->learned || !self->wait)
            continue;
        one->is = standard_errors_found(&one->found);
        correlate(one);
    }
}

/* ... and remember it for those who come after. */
static shot_status tell_noise(by_channel *self, shot_error *error) {
    for (size_t i = 0; i < self->count; i++) {
        const worked *one = &self->channels[i];
        const shot_noise_line line = {one->found.sd, one->found.correlation};
        if (one->learned && !one->known)
            SHOT_TRY(shot_noise_line_say(self->stage.next, one->name, &line, error));
    }
    return SHOT_OK;
}

/* A kernel that fails leaves the samples that it still owed without results.  The first failure
 * counts. */
static shot_status finish_kernels(by_channel *self, shot_error *error) {
    const double none[2] = {NAN, NAN};
    shot_status first = SHOT_OK;
    for (size_t i = 0; i < self->count; i++) {
        worked *one = &self->channels[i];
        const shot_status status =
            one->kernel.calls->finish(one->kernel.object, first == SHOT_OK ? error : NULL);
        if (status == SHOT_OK)
            SHOT_TRY(by_channel_drain(self, one));
        for (; one->results.rows < self->held.rows; one->holes = true)
            SHOT_TRY(shot_rows_append_row(&one->results, none));
        first = first == SHOT_OK ? status : first;
    }
    return first;
}

/* ---- calls ---- */

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    by_channel *self = (by_channel *)sink;
    if (!shot_head_same_channels(head, &self->head))
        forget_with(self);
    if (shot_head_copy_again(head, &self->head) != SHOT_OK ||
        shot_rows_restart(&self->held, head->channel_count) != SHOT_OK)
        return out_of_memory(self, error);
    const shot_status status = choose_channels(self, error);
    if (status == SHOT_ERR_MEMORY)
        return out_of_memory(self, error);
    SHOT_TRY(status);
    look_for_noise(self);
    self->last_gap = self->gap_count = self->handed = 0;
    SHOT_TRY(hand_on_head(self, error));
    return named_channels_tell_missing(&self->stage.notice, &self->head, self->rule.channels,
                                       self->rule.filter, self->stage.next, error);
}

/* How the work went, in words. */
static shot_status tell_work(const by_channel *self, shot_status status, shot_error *error) {
    if (status == SHOT_ERR_MEMORY)
        return out_of_memory(self, error);
    return status == SHOT_OK
               ? SHOT_OK
               : shot_fail(error, status, "the time does not rise; run shot-clean before");
}

static shot_status work_on_all(by_channel *self, const shot_block *block) {
    shot_status status = SHOT_OK;
    for (size_t i = 0; i < self->count && status == SHOT_OK; i++)
        status = work_on(self, &self->channels[i], block);
    return status;
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    by_channel *self = (by_channel *)sink;
    shot_status status = shot_rows_append(&self->held, block);
    for (size_t i = 0; i < self->count && status == SHOT_OK; i++)
        status = watch(self, &self->channels[i], block);
    if (self->wait)
        return tell_work(self, status, error);
    if (status == SHOT_OK)
        status = work_on_all(self, block);
    SHOT_TRY(tell_work(self, status, error));
    return by_channel_hand_on(self, error);
}

/* The rows that waited for the noise, now that it is known. */
static shot_status work_on_held(by_channel *self, shot_error *error) {
    const shot_block block = shot_rows_front(&self->held, self->held.rows);
    return tell_work(self, work_on_all(self, &block), error);
}

static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    by_channel_skip_gap_id((by_channel *)sink, one);
    return shot_stage_mark(sink, one, error);
}

/* The noise of a channel may be told behind its rows: whoever changed it before us knew better. */
static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    by_channel *self = (by_channel *)sink;
    const shot_head only = {.lines = (shot_line *)one, .line_count = 1};
    shot_noise_line noise;
    for (size_t i = 0; i < self->count; i++)
        if (!self->channels[i].known && shot_noise_line_find(&only, self->channels[i].name, &noise))
            self->channels[i].known = true;
    return shot_stage_line(sink, one, error);
}

static shot_status hand_on_rest(by_channel *self, shot_error *error) {
    SHOT_TRY(by_channel_hand_on(self, error));
    return tell_noise(self, error);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    by_channel *self = (by_channel *)sink;
    learn_noise(self);
    if (self->wait)
        SHOT_TRY(work_on_held(self, error));
    const shot_status status = finish_kernels(self, error);
    if (status == SHOT_ERR_MEMORY)
        return out_of_memory(self, error);
    if (status != SHOT_OK)
        return hand_on_rest(self, NULL) == SHOT_OK ? shot_stage_give_up(sink, status) : status;
    SHOT_TRY(hand_on_rest(self, error));
    SHOT_TRY(by_channel_tell_losses(self, error));
    return shot_stage_end(sink, cut, error);
}

static void release(shot_sink *sink) {
    by_channel *self = (by_channel *)sink;
    for (size_t i = 0; i < self->room; i++) {
        worked *one = &self->channels[i];
        if (one->kernel.object != NULL)
            one->kernel.calls->free(one->kernel.object);
        shot_rows_free(&one->results);
        noise_watch_free(&one->noise);
    }
    free(self->channels);
    free(self->gaps);
    free(self->out);
    shot_rows_free(&self->held);
    forget_with(self);
    shot_head_free(&self->head);
    shot_stage_free(sink);
}

static const shot_sink_calls calls = {
    begin, rows, mark, line, end, shot_stage_pause, shot_stage_close, release};

shot_status by_channel_new(const shot_making *making, const by_channel_rule *rule, shot_sink **out,
                           shot_error *error) {
    shot_stage *stage;
    *out = NULL;
    SHOT_TRY(shot_stage_new(making, &calls, sizeof(by_channel), &stage, error));
    ((by_channel *)stage)->rule = *rule;
    *out = &stage->sink;
    return SHOT_OK;
}
