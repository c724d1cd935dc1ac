/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A stage that works channel by channel.  Rows wait in `held` until every kernel has given its
 * result for them; results wait in a queue of their own a channel. */
#include "filter/by_channel.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/noise_line.h>

#include "filter/error_basis.h"
#include "filter/named_channels.h"
#include "filter/noise_watch.h"
#include "filter/standard_errors.h"

typedef struct worked {
    size_t column;    /* in the input */
    const char *name; /* of that, in the head */
    channel_kernel kernel;
    shot_rows results; /* value, gain; the gain becomes the standard error */
    noise_watch noise;
    bool known;   /* the head has a noise line */
    bool learned; /* `found` is an estimate for this shot */
    shot_noise found;
    double sd;         /* of a sample, correlation allowed for; NaN while unknown */
    size_t came, lost; /* samples with a value; of these, those without a result */
    size_t beyond;     /* results beyond the largest number, which are missing */
    size_t bare;       /* results without a gain, where errors are added */
} worked;

typedef struct gap_mark {
    size_t row, channel; /* number of the row at which it ends; index of the channel */
    double length;       /* s */
} gap_mark;

typedef struct by_channel {
    shot_stage stage;
    by_channel_rule rule;
    shot_head head;   /* of the input */
    worked *channels; /* owned [count]; kernels are kept from shot to shot */
    size_t count, room;
    bool errors;         /* standard errors are added in this shot */
    bool wait;           /* ... once the noise is known, at its end */
    const char *why_not; /* errors were asked for and are not added: the history line to blame */
    shot_rows held;
    size_t handed;  /* rows of the shot handed on: held row 0 has this number */
    gap_mark *gaps; /* owned [gap_room]: those that wait for their rows, in order */
    size_t gap_count, gap_room;
    size_t last_gap;    /* number in the last id of a mark of a gap */
    const double **out; /* owned: columns of a block handed on */
} by_channel;

static const char GAP_PREFIX[] = "ig";

static shot_status out_of_memory(const by_channel *self, shot_error *error) {
    return shot_fail(error, SHOT_ERR_MEMORY, "out of memory in '%s'", self->rule.filter);
}

/* ---- the channels of a shot ---- */

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
        SHOT_TRY(self->rule.make(self->stage.settings, &one->kernel));
    if (one->results.columns == 0)
        SHOT_TRY(shot_rows_init(&one->results, 2));
    one->kernel.calls->reset(one->kernel.object);
    shot_rows_clear(&one->results);
    noise_watch_reset(&one->noise);
    one->column = column;
    one->name = self->head.channels[column].name;
    one->came = one->lost = one->beyond = one->bare = 0;
    one->sd = NAN;
    self->count++;
    return SHOT_OK;
}

static shot_status add_named(by_channel *self, const char *name, shot_error *error) {
    size_t column;
    SHOT_TRY(named_channel_find(&self->head, name, &column, error));
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

static void look_for_noise(by_channel *self) {
    self->errors = self->rule.errors;
    self->wait = false;
    self->why_not = NULL;
    for (size_t i = 0; i < self->count; i++) {
        worked *one = &self->channels[i];
        shot_noise_line noise;
        one->known = shot_noise_line_find(&self->head, one->name, &noise);
        one->sd = standard_errors_told(&self->head, one->name);
        if (self->rule.errors && self->why_not == NULL)
            self->why_not = error_basis_fault(&self->head, one->name);
        self->wait = self->wait || isnan(one->sd);
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

static shot_status hand_on_head(by_channel *self, shot_error *error) {
    shot_head head = {0};
    if (shot_head_borrow(&self->head, &head) != SHOT_OK)
        return out_of_memory(self, error);
    shot_status status = add_channels(self, &head, error);
    const double **out = realloc(self->out, head.channel_count * sizeof *out);
    if (out != NULL)
        self->out = out;
    else if (status == SHOT_OK)
        status = out_of_memory(self, error);
    if (status == SHOT_OK)
        status = shot_stage_begin(&self->stage.sink, &head, error);
    shot_head_free_channels(&head);
    return status;
}

/* ---- rows ---- */

/* Fill `out` with the columns of the rows held, results in their places; how many there are. */
static size_t gather_columns(by_channel *self) {
    size_t count = self->held.columns;
    for (size_t c = 0; c < count; c++)
        self->out[c] = self->held.column[c];
    for (size_t i = 0; i < self->count; i++) {
        worked *one = &self->channels[i];
        if (self->rule.suffix == NULL)
            self->out[one->column] = one->results.column[0];
        else
            self->out[count++] = one->results.column[0];
        if (self->errors)
            self->out[count++] = one->results.column[1];
    }
    return count;
}

/* Before the first `ready` rows go: count the samples, make standard errors of the gains. */
static void count_and_scale(const by_channel *self, worked *one, size_t ready) {
    const double *samples = self->held.column[one->column];
    double *value = one->results.column[0], *gain = one->results.column[1];
    for (size_t r = 0; r < ready; r++) {
        one->came += !isnan(samples[r]);
        one->lost += !isnan(samples[r]) && isnan(value[r]);
    }
    for (size_t r = 0; r < ready && self->errors; r++) {
        one->bare += !isnan(value[r]) && isnan(gain[r]);
        gain[r] = one->sd * sqrt(gain[r]);
    }
}

static shot_status hand_on_count(by_channel *self, size_t count, shot_error *error) {
    if (count == 0)
        return SHOT_OK;
    for (size_t i = 0; i < self->count; i++)
        count_and_scale(self, &self->channels[i], count);
    const shot_block block = {count, gather_columns(self), self->out};
    const shot_status status = shot_sink_rows(self->stage.next, &block, error);
    shot_rows_drop(&self->held, count);
    for (size_t i = 0; i < self->count; i++)
        shot_rows_drop(&self->channels[i].results, count);
    self->handed += count;
    return status;
}

/* The mark of a gap that ends at the first row held. */
static shot_status mark_gap(by_channel *self, const gap_mark *gap, shot_error *error) {
    char id[32];
    snprintf(id, sizeof id, "%s%zu", GAP_PREFIX, ++self->last_gap);
    shot_mark one = shot_mark_none();
    one.kind = (char *)"gap";
    one.id = id;
    one.to = self->held.column[0][0];
    one.from = one.to - gap->length;
    one.channel = (char *)self->channels[gap->channel].name;
    one.note = (char *)self->rule.gap_note;
    return shot_sink_mark(self->stage.next, &one, error);
}

/* Hand on the rows that all channels have results for, each gap's mark before its row. */
static shot_status hand_on_rows(by_channel *self, shot_error *error) {
    size_t ready = self->held.rows, gap = 0;
    for (size_t i = 0; i < self->count; i++)
        ready = self->channels[i].results.rows < ready ? self->channels[i].results.rows : ready;
    const size_t end = self->handed + ready;
    for (; gap < self->gap_count && self->gaps[gap].row < end; gap++) {
        SHOT_TRY(hand_on_count(self, self->gaps[gap].row - self->handed, error));
        SHOT_TRY(mark_gap(self, &self->gaps[gap], error));
    }
    self->gap_count -= gap;
    if (gap > 0)
        memmove(self->gaps, self->gaps + gap, self->gap_count * sizeof *self->gaps);
    return hand_on_count(self, end - self->handed, error);
}

/* A gap ends at the row whose result comes next.  Its mark goes out just before that row, so that
 * it stands in the same place however the input is cut; of one row, in the order of the channels.
 */
static shot_status remember_gap(by_channel *self, const worked *one, double gap) {
    if (self->gap_count == self->gap_room) {
        const size_t room = self->gap_room == 0 ? 8 : 2 * self->gap_room;
        gap_mark *gaps = realloc(self->gaps, room * sizeof *gaps);
        if (gaps == NULL)
            return SHOT_ERR_MEMORY;
        self->gaps = gaps;
        self->gap_room = room;
    }
    const gap_mark new = {self->handed + one->results.rows, (size_t)(one - self->channels), gap};
    size_t place = self->gap_count++;
    for (; place > 0 &&
           (self->gaps[place - 1].row > new.row ||
            (self->gaps[place - 1].row == new.row && self->gaps[place - 1].channel > new.channel));
         place--)
        self->gaps[place] = self->gaps[place - 1];
    self->gaps[place] = new;
    return SHOT_OK;
}

/* What is not finite is missing, and its gain with it; how many were infinite. */
static size_t keep_finite(double *value, double *gain, size_t count) {
    size_t beyond = 0;
    for (size_t i = 0; i < count; i++) {
        const bool known = isfinite(value[i]);
        beyond += isinf(value[i]) != 0;
        value[i] = known ? value[i] : NAN;
        gain[i] = known ? gain[i] : NAN;
    }
    return beyond;
}

/* Take the results that are known, many at once.  There is one for each row held, and no more. */
static shot_status take_results(const by_channel *self, worked *one) {
    shot_rows *results = &one->results;
    const size_t have = results->rows, room = self->held.rows - have;
    SHOT_TRY(shot_rows_reserve(results, room));
    double *value = results->column[0] + have, *gain = results->column[1] + have;
    size_t count;
    SHOT_TRY(one->kernel.calls->take(one->kernel.object, room, value, gain, &count));
    one->beyond += keep_finite(value, gain, count);
    results->rows += count;
    return SHOT_OK;
}

/* ... and one by one. */
static shot_status drain(by_channel *self, worked *one) {
    const channel_kernel *kernel = &one->kernel;
    if (kernel->calls->take != NULL)
        return take_results(self, one);
    for (;;) {
        channel_result result;
        bool ready;
        SHOT_TRY(kernel->calls->next(kernel->object, &result, &ready));
        if (!ready)
            return SHOT_OK;
        if (result.gap > 0)
            SHOT_TRY(remember_gap(self, one, result.gap));
        double row[2] = {result.value, result.gain};
        one->beyond += keep_finite(&row[0], &row[1], 1);
        SHOT_TRY(shot_rows_append_row(&one->results, row));
    }
}

/* The noise is estimated where a channel changes that has no noise line yet, and where standard
 * errors need more than the line says. */
static bool is_watched(const by_channel *self, const worked *one) {
    return (self->errors && isnan(one->sd)) || (self->rule.suffix == NULL && !one->known);
}

static shot_status work_on(by_channel *self, worked *one, const shot_block *block) {
    const double *t = block->column[0], *y = block->column[one->column];
    const channel_kernel *kernel = &one->kernel;
    if (is_watched(self, one))
        SHOT_TRY(noise_watch_push(&one->noise, t, y, block->rows));
    if (kernel->calls->push_block != NULL)
        SHOT_TRY(kernel->calls->push_block(kernel->object, t, y, block->rows));
    for (size_t r = 0; r < block->rows && kernel->calls->push_block == NULL; r++) {
        SHOT_TRY(kernel->calls->push(kernel->object, t[r], y[r]));
        SHOT_TRY(drain(self, one));
    }
    return drain(self, one);
}

/* ---- the end of a shot ---- */

/* Estimate the noise of what was watched. */
static void learn_noise(by_channel *self) {
    for (size_t i = 0; i < self->count; i++) {
        worked *one = &self->channels[i];
        one->learned = is_watched(self, one) && noise_watch_estimate(&one->noise, &one->found);
        if (one->learned && isnan(one->sd))
            one->sd = one->found.sd * sqrt(one->found.inflation);
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

static shot_status tell_loss(by_channel *self, const worked *one, shot_error *error) {
    const char *filter = self->rule.filter;
    const size_t lost = one->lost > one->beyond ? one->lost - one->beyond : 0;
    if (lost > 0)
        SHOT_TRY(shot_sink_say(self->stage.next, "note", error,
                               "shot-%s: %s: %zu of %zu samples are left without a value: %s",
                               filter, one->name, lost, one->came, self->rule.why_none));
    if (one->beyond > 0)
        SHOT_TRY(shot_sink_say(self->stage.next, "note", error,
                               "shot-%s: %s: %zu results are beyond the largest number, and are "
                               "missing",
                               filter, one->name, one->beyond));
    if (one->bare > 0)
        SHOT_TRY(shot_sink_say(self->stage.next, "note", error,
                               "shot-%s: %s: %zu values have no standard error: the filter "
                               "remembers more rows than can be weighed",
                               filter, one->name, one->bare));
    if (self->errors && isnan(one->sd))
        SHOT_TRY(standard_errors_say_unknown(self->stage.next, filter, one->name, error));
    return SHOT_OK;
}

/* What could not be known, and why. */
static shot_status tell_losses(by_channel *self, shot_error *error) {
    const char *filter = self->rule.filter;
    for (size_t i = 0; i < self->count; i++)
        SHOT_TRY(tell_loss(self, &self->channels[i], error));
    if (self->why_not != NULL)
        SHOT_TRY(standard_errors_say_fault(self->stage.next, filter, NULL, self->why_not, error));
    if (self->count == 0)
        SHOT_TRY(shot_sink_say(self->stage.next, "note", error,
                               "shot-%s: no measured channel among those known; name one with "
                               "--channel",
                               filter));
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
            SHOT_TRY(drain(self, one));
        while (one->results.rows < self->held.rows)
            SHOT_TRY(shot_rows_append_row(&one->results, none));
        first = first == SHOT_OK ? status : first;
    }
    return first;
}

/* ---- calls ---- */

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    by_channel *self = (by_channel *)sink;
    shot_head_free(&self->head);
    if (shot_head_copy(head, &self->head) != SHOT_OK ||
        shot_rows_restart(&self->held, head->channel_count) != SHOT_OK)
        return out_of_memory(self, error);
    const shot_status status = choose_channels(self, error);
    if (status == SHOT_ERR_MEMORY)
        return out_of_memory(self, error);
    SHOT_TRY(status);
    look_for_noise(self);
    self->last_gap = self->gap_count = self->handed = 0;
    return hand_on_head(self, error);
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    by_channel *self = (by_channel *)sink;
    shot_status status = shot_rows_append(&self->held, block);
    for (size_t i = 0; i < self->count && status == SHOT_OK; i++)
        status = work_on(self, &self->channels[i], block);
    if (status == SHOT_ERR_MEMORY)
        return out_of_memory(self, error);
    if (status != SHOT_OK)
        return shot_fail(error, status, "the time does not rise; run shot-clean before");
    return self->wait ? SHOT_OK : hand_on_rows(self, error);
}

/* Marks of an earlier one of our kind keep their ids. */
static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    by_channel *self = (by_channel *)sink;
    const size_t length = strlen(GAP_PREFIX);
    if (one->id != NULL && strncmp(one->id, GAP_PREFIX, length) == 0) {
        const size_t number = strtoul(one->id + length, NULL, 10);
        self->last_gap = number > self->last_gap ? number : self->last_gap;
    }
    return shot_stage_mark(sink, one, error);
}

/* The noise of a channel may be told behind its rows: whoever changed it before us knew better. */
static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    by_channel *self = (by_channel *)sink;
    const shot_head only = {.lines = (shot_line *)one, .line_count = 1};
    shot_noise_line noise;
    for (size_t i = 0; i < self->count; i++)
        if (shot_noise_line_find(&only, self->channels[i].name, &noise))
            self->channels[i].known = true;
    return shot_stage_line(sink, one, error);
}

static shot_status hand_on_rest(by_channel *self, shot_error *error) {
    learn_noise(self);
    SHOT_TRY(hand_on_rows(self, error));
    return tell_noise(self, error);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    by_channel *self = (by_channel *)sink;
    const shot_status status = finish_kernels(self, error);
    if (status == SHOT_ERR_MEMORY)
        return out_of_memory(self, error);
    if (status != SHOT_OK)
        return hand_on_rest(self, NULL) == SHOT_OK ? shot_stage_give_up(sink, status) : status;
    SHOT_TRY(hand_on_rest(self, error));
    SHOT_TRY(tell_losses(self, error));
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
