/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The way of rows through shot-clean: from their order past each channel, and on. */
#include "filter/clean_parts.h"
#include "signal/intervals.h"

/* ---- handing on ---- */

shot_status clean_hand_on(clean_sink *self, shot_error *error) {
    size_t settled = self->handed + self->held.rows;
    for (size_t i = 0; i < self->channel_count; i++) {
        const size_t own = clean_channel_settled(self, &self->channels[i]);
        settled = own < settled ? own : settled;
    }
    const size_t count = settled - self->handed;
    if (count == 0)
        return SHOT_OK;
    for (size_t i = 0; i < self->channel_count; i++)
        clean_channel_apply_zero(self, &self->channels[i], count);
    const shot_block block = shot_rows_front(&self->held, count);
    const shot_status status = shot_sink_rows(self->stage.next, &block, error);
    shot_rows_drop(&self->held, count);
    self->handed = settled;
    return status;
}

/* ---- rows in order ---- */

shot_status clean_look_for_row_gaps(clean_sink *self, shot_error *error) {
    return self->row_gaps == NULL ? SHOT_OK : clean_report_gaps(self, NULL, self->row_gaps, error);
}

static shot_status take_row(clean_sink *self, double t, shot_error *error) {
    const size_t number = self->handed + self->held.rows - 1;
    self->end = t;
    if (self->row_gaps != NULL)
        SHOT_TRY(shot_sample_gaps_push(self->row_gaps, t));
    SHOT_TRY(clean_look_for_row_gaps(self, error));
    for (size_t i = 0; i < self->channel_count; i++)
        SHOT_TRY(clean_channel_row(self, &self->channels[i], number, error));
    return SHOT_OK;
}

/* Marks stand among the rows where each row in turn puts them; rows that bring none can be taken
 * together. */
static bool are_quiet(clean_sink *self, const shot_block *rows, const shot_intervals *between) {
    const struct clean_settings *settings = self->stage.settings;
    const double *t = rows->column[0];
    if (settings->marks || settings->keep ||
        (self->row_gaps != NULL && !shot_sample_gaps_none(self->row_gaps, t, rows->rows, between)))
        return false;
    for (size_t i = 0; i < self->channel_count; i++)
        if (!clean_channel_is_quiet(self, &self->channels[i], rows, between))
            return false;
    return true;
}

static shot_status take_quiet(clean_sink *self, const shot_block *rows,
                              const shot_intervals *between, shot_error *error) {
    SHOT_TRY(shot_rows_append(&self->held, rows));
    self->end = rows->column[0][rows->rows - 1];
    if (self->row_gaps != NULL)
        shot_sample_gaps_pass(self->row_gaps, rows->column[0], rows->rows, between);
    for (size_t i = 0; i < self->channel_count; i++)
        SHOT_TRY(clean_channel_quiet_rows(self, &self->channels[i], error));
    return SHOT_OK;
}

/* At most CLEAN_STRETCH rows. */
static shot_status take_stretch(clean_sink *self, const shot_block *rows, shot_error *error) {
    if (self->handed + self->held.rows == 0)
        self->start = rows->column[0][0];
    const shot_intervals between = intervals_between(rows->column[0], rows->rows);
    if (are_quiet(self, rows, &between))
        return take_quiet(self, rows, &between, error);
    for (size_t i = 0; i < rows->rows; i++) {
        SHOT_TRY(shot_rows_append_one(&self->held, rows, i));
        SHOT_TRY(take_row(self, rows->column[0][i], error));
    }
    return SHOT_OK;
}

/* Rows of those in order. */
static shot_block part_of(clean_sink *self, size_t first, size_t count) {
    const shot_block all = row_order_front(&self->order, first + count);
    for (size_t c = 0; c < all.columns; c++)
        self->part[c] = all.column[c] + first;
    return (shot_block){count, all.columns, self->part};
}

shot_status clean_take_ordered(clean_sink *self, bool ended, shot_error *error) {
    const struct clean_settings *settings = self->stage.settings;
    const size_t ready = row_order_ready(&self->order, ended);
    if (!settings->keep && settings->reorder.length > 0)
        lost_frames_take_out(&self->frames, self->order.rows.column, ready, self->order.rows.rows);
    carried_values_fill(&self->carried, self->order.rows.column, ready);
    for (size_t first = 0, count; first < ready; first += count) {
        count = ready - first < CLEAN_STRETCH ? ready - first : CLEAN_STRETCH;
        const shot_block rows = part_of(self, first, count);
        SHOT_TRY(take_stretch(self, &rows, error));
    }
    row_order_drop(&self->order, ready);
    return SHOT_OK;
}
