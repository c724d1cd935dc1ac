/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A shot out of a continuous log: its name, its clock, its rows and marks. */
#include "filter/split_parts.h"

#include <math.h>
#include <time.h>

#include <shottrace/trace/log_time.h>

#include "trace/time_origin.h"

/* ---- names ---- */

/* Clocks from 2001 on are taken for seconds since 1970 UTC. */
static const double first_epoch = 1e9, last_epoch = 1e11;

static shot_status add_time_name(shot_text *name, const shot_decimal *clock) {
    const double seconds = shot_decimal_value(clock);
    const time_t whole = (time_t)floor(seconds);
    struct tm day;
    char text[32];
    if (!(seconds >= first_epoch && seconds < last_epoch) || gmtime_r(&whole, &day) == NULL ||
        strftime(text, sizeof text, "-%Y-%m-%dT%H%M%SZ", &day) == 0)
        return shot_text_add_format(name, "-%.0fs", floor(seconds));
    return shot_text_add(name, text);
}

static shot_status set_name(const splitter *self, const shot_decimal *clock, shot_head *head) {
    const struct split_settings *settings = self->stage.settings;
    shot_text name = {0};
    shot_status status = shot_text_add(&name, self->head.name);
    if (status == SHOT_OK)
        status = settings->name == SPLIT_BY_TIME
                     ? add_time_name(&name, clock)
                     : shot_text_add_format(&name, "-%03zu", self->number);
    if (status == SHOT_OK)
        status = shot_head_set_name(head, name.bytes);
    shot_text_free(&name);
    return status;
}

/* ---- the head ---- */

static shot_status set_clock(splitter *self, shot_head *head) {
    shot_decimal clock = self->clock;
    char text[SHOT_DECIMAL_ROOM + 1];
    SHOT_TRY(shot_decimal_add(&clock, &self->origin));
    text[shot_decimal_write(text, &clock)] = '\0';
    SHOT_TRY(set_name(self, &clock, head));
    return shot_head_set_value(head, "t0", text);
}

static shot_status settle_head(splitter *self, const char *kind, shot_head *head) {
    SHOT_TRY(set_clock(self, head));
    return kind != NULL ? shot_head_set_value(head, "kind", kind) : SHOT_OK;
}

shot_status split_begin_shot(splitter *self, const char *kind, shot_error *error) {
    const shot_rows *held = &self->held;
    size_t first = 0;
    shot_head head;
    split_drop_before(self, self->event - self->lead);
    while (first + 1 < held->rows && held->column[0][first] < self->event)
        first++;
    SHOT_TRY(shot_decimal_from(held->column[0][first], &self->origin));
    self->number++;
    SHOT_TRY(shot_head_copy(&self->head, &head));
    shot_status status = settle_head(self, kind, &head);
    if (status == SHOT_OK)
        status = shot_stage_begin(&self->stage.sink, &head, error);
    shot_head_free(&head);
    self->open = status == SHOT_OK;
    return status;
}

/* ---- rows and marks ---- */

void split_drop_before(splitter *self, double time) {
    size_t count = 0;
    while (count < self->held.rows && self->held.column[0][count] < time)
        count++;
    shot_rows_drop(&self->held, count);
}

static shot_status pass_marks(splitter *self, shot_error *error) {
    for (size_t i = 0; i < self->marks.count; i++) {
        shot_mark *one = &self->marks.marks[i];
        SHOT_TRY(time_origin_shift_mark(&self->origin, one));
        SHOT_TRY(shot_sink_mark(self->stage.next, one, error));
    }
    shot_mark_list_clear(&self->marks);
    return SHOT_OK;
}

shot_status split_pass_rows(splitter *self, double until, shot_error *error) {
    size_t count = 0;
    while (count < self->held.rows && self->held.column[0][count] <= until)
        count++;
    if (count > 0) {
        const shot_block front = shot_rows_front(&self->held, count);
        shot_rows_clear(&self->out);
        SHOT_TRY(shot_rows_append(&self->out, &front));
        for (size_t i = 0; i < count; i++)
            SHOT_TRY(time_origin_shift(&self->origin, &self->out.column[0][i]));
        const shot_block shifted = shot_rows_front(&self->out, count);
        SHOT_TRY(shot_sink_rows(self->stage.next, &shifted, error));
        shot_rows_drop(&self->held, count);
    }
    return pass_marks(self, error);
}

shot_status split_end_shot(splitter *self, bool cut, shot_error *error) {
    self->open = false;
    return shot_sink_end(self->stage.next, cut, error);
}

/* ---- reasons ---- */

shot_status split_say(const splitter *self, const char *what, double from, double to) {
    const struct split_settings *settings = self->stage.settings;
    shot_text text = {0};
    if (!settings->explain)
        return SHOT_OK;
    const shot_status status = shot_text_add_log_span(&text, from, to, &self->clock);
    if (status == SHOT_OK)
        shot_notice_say(&self->stage.notice, "%s: %s s: %s", self->head.name, text.bytes, what);
    shot_text_free(&text);
    return status;
}
