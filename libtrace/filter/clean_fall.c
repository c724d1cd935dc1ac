/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows of shot-clean that came too late for their place: a few are left out, and where they go on
 * the clock fell.  Which of its times are true nobody can tell, but all rows behind the fall agree:
 * they are a shot of their own.  A bench that is watched for hours goes on so when its clock is
 * set. */
#include <shottrace/trace/stage.h>
#include <shottrace/trace/text.h>

#include "filter/clean_parts.h"

/* Rows that show a clock to rise: as many as tell what a clock is (stream/foreign_clock.h).  Where
 * fewer came since the last fall the rows are in no order at all. */
enum { FEWEST = 16 };

shot_status clean_leave_out(clean_sink *self, shot_error *error) {
    shot_rows *strays = &self->order.strays;
    for (size_t i = 0; i < strays->rows; i++) {
        const double time = strays->column[0][i];
        SHOT_TRY(clean_report_lost(self, time, self->order.newest - time, error));
    }
    shot_rows_clear(strays);
    return SHOT_OK;
}

/* The shot and the stream end before the fall, as cut. */
static shot_status give_up(clean_sink *self, shot_error *error) {
    const shot_status status = row_order_fail_fallen(&self->order, error);
    if (clean_settle_all(self, NULL) == SHOT_OK)
        shot_stage_give_up(&self->stage.sink, status);
    return status;
}

/* The name of the next part, into the head. */
static shot_status name_part(clean_sink *self, shot_head *head) {
    const char *name = head->name != NULL ? head->name : "";
    shot_text part = {0};
    shot_status status = SHOT_OK;
    if (self->parts == 0) {
        self->parts = 1;
        shot_text_clear(&self->name);
        status = shot_text_add(&self->name, name);
    }
    if (status == SHOT_OK)
        status = shot_text_add_format(&part, "%s-part-%zu", self->name.bytes, ++self->parts);
    if (status == SHOT_OK)
        status = shot_head_set_name(head, part.bytes);
    shot_text_free(&part);
    return status;
}

/* Told to whoever runs the filter, and to whoever reads the shot. */
static shot_status tell(const clean_sink *self, const shot_head *next, double time,
                        shot_error *error) {
    shot_text words = {0};
    shot_status status = shot_text_add_format(
        &words,
        "the clock fell by %.3g s, to %.10g s: the shot is cut there, and goes on as '%s'; where "
        "rows only came late, a larger --reorder takes them in",
        self->order.newest - time, time, next->name);
    if (status == SHOT_OK) {
        shot_notice_say(&self->stage.notice, "shot '%s': %s",
                        self->head.name != NULL ? self->head.name : "", words.bytes);
        status = shot_sink_say(self->stage.next, "note", error, "shot-clean: %s", words.bytes);
    }
    shot_text_free(&words);
    return status;
}

static shot_status go_on(clean_sink *self, const shot_head *next, const shot_rows *strays,
                         shot_error *error) {
    SHOT_TRY(clean_settle_all(self, error));
    SHOT_TRY(tell(self, next, strays->column[0][0], error));
    SHOT_TRY(shot_stage_end(&self->stage.sink, false, error));
    SHOT_TRY(clean_begin_shot(self, next));
    SHOT_TRY(shot_stage_begin(&self->stage.sink, next, error));
    const shot_block block = shot_rows_front(strays, strays->rows);
    return self->stage.sink.calls->rows(&self->stage.sink, &block, error);
}

shot_status clean_fall(clean_sink *self, shot_error *error) {
    if (self->handed + self->held.rows + self->order.rows.rows < FEWEST)
        return give_up(self, error);
    shot_rows strays = self->order.strays;
    shot_head next = {0};
    self->order.strays = (shot_rows){0};
    self->falls++;
    shot_status status = shot_head_copy(&self->head, &next);
    if (status == SHOT_OK)
        status = name_part(self, &next);
    if (status == SHOT_OK)
        status = go_on(self, &next, &strays, error);
    shot_rows_free(&strays);
    shot_head_free(&next);
    return status == SHOT_ERR_MEMORY
               ? shot_fail(error, status, "out of memory for the rows of a shot")
               : status;
}
