/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rows of a stage that works channel by channel: results taken, and handed on with the marks of
 * gaps in their places. */
#include <float.h>
#include <math.h>
#include <string.h>

#include "filter/by_channel_parts.h"
#include "filter/numbered_id.h"
#include "room.h"
#include "signal/missing.h"
#include "signal/wide.h"

static const char GAP_WORD[] = "ig";

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

/* How many samples have no value. */
SHOT_WIDE static size_t count_lost(const double *sample, const double *value, size_t n) {
    size_t lost = 0;
    for (size_t r = 0; r < n; r++)
        lost += isnan(sample[r]) ? 0 : isnan(value[r]) ? 1 : 0;
    return lost;
}

/* Where the gains from a row on stand; NULL where there are none. */
static double *gain_of(const shot_rows *results, size_t row) {
    return results->columns > 1 ? results->column[1] + row : NULL;
}

/* Before the first `ready` rows go: count the samples, make standard errors of the gains. */
static void count_and_scale(const by_channel *self, worked *one, size_t ready) {
    const double *samples = self->held.column[one->column];
    double *value = one->results.column[0], *gain = gain_of(&one->results, 0);
    one->came += ready - count_missing(samples, ready);
    if (one->holes)
        one->lost += count_lost(samples, value, ready);
    for (size_t r = 0; r < ready && self->errors; r++) {
        one->bare += !isnan(value[r]) && isnan(gain[r]);
        gain[r] = one->is.sd * sqrt(gain[r]);
    }
}

static void forget_stale(by_channel *self, const worked *one, size_t count) {
    for (size_t r = 0; r < count && one->stale >= 0; r++)
        self->held.column[one->stale][r] = NAN;
}

static shot_status hand_on_count(by_channel *self, size_t count, shot_error *error) {
    if (count == 0)
        return SHOT_OK;
    for (size_t i = 0; i < self->count; i++) {
        count_and_scale(self, &self->channels[i], count);
        forget_stale(self, &self->channels[i], count);
    }
    const shot_block block = {count, gather_columns(self), self->out};
    const shot_status status = shot_sink_rows(self->stage.next, &block, error);
    shot_rows_drop(&self->held, count);
    for (size_t i = 0; i < self->count; i++) {
        worked *one = &self->channels[i];
        shot_rows_drop(&one->results, count);
        one->holes = one->holes && one->results.rows > 0;
    }
    self->handed += count;
    return status;
}

/* The mark of a gap that ends at the first row held. */
static shot_status mark_gap(by_channel *self, const gap_mark *gap, shot_error *error) {
    char id[NUMBERED_ID_ROOM];
    numbered_id_write(id, GAP_WORD, shot_stage_turn(&self->stage, &self->head), ++self->last_gap);
    shot_mark one = shot_mark_none();
    one.kind = (char *)"gap";
    one.id = id;
    one.to = self->held.column[0][0];
    one.from = one.to - gap->length;
    one.channel = (char *)self->channels[gap->channel].name;
    one.note = (char *)self->rule.gap_note;
    return shot_sink_mark(self->stage.next, &one, error);
}

shot_status by_channel_hand_on(by_channel *self, shot_error *error) {
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
    gap_mark *gaps = room_for_more(self->gaps, self->gap_count, &self->gap_room, 8, sizeof *gaps);
    if (gaps == NULL)
        return SHOT_ERR_MEMORY;
    self->gaps = gaps;
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

/* How many values are infinite; these become missing. */
SHOT_WIDE static size_t leave_finite(double *value, size_t count) {
    size_t beyond = 0;
    for (size_t i = 0; i < count; i++) {
        beyond += fabs(value[i]) > DBL_MAX ? 1 : 0;
        value[i] = fabs(value[i]) <= DBL_MAX ? value[i] : NAN;
    }
    return beyond;
}

/* What is not finite is missing, and its gain with it. */
static void keep_finite(worked *one, double *value, double *gain, size_t count) {
    if (all_finite(value, count))
        return;
    one->beyond += leave_finite(value, count);
    one->holes = true;
    for (size_t i = 0; i < count && gain != NULL; i++)
        gain[i] = isnan(value[i]) ? NAN : gain[i];
}

/* Take the results that are known, many at once.  There is one for each row held, and no more. */
static shot_status take_results(const by_channel *self, worked *one) {
    shot_rows *results = &one->results;
    const size_t have = results->rows, room = self->held.rows - have;
    SHOT_TRY(shot_rows_reserve(results, room));
    double *value = results->column[0] + have, *gain = gain_of(results, have);
    size_t count;
    SHOT_TRY(one->kernel.calls->take(one->kernel.object, room, value, gain, &count));
    keep_finite(one, value, gain, count);
    results->rows += count;
    return SHOT_OK;
}

/* ... and one by one. */
shot_status by_channel_drain(by_channel *self, worked *one) {
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
        keep_finite(one, &row[0], &row[1], 1);
        SHOT_TRY(shot_rows_append_row(&one->results, row));
    }
}

void by_channel_skip_gap_id(by_channel *self, const shot_mark *one) {
    const size_t number = numbered_id_number(one->id, GAP_WORD);
    self->last_gap = number > self->last_gap ? number : self->last_gap;
}
