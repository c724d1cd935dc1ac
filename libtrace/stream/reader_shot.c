/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shot that the reader of trace streams is in, and what the sink hears of it. */
#include "stream/reader_shot.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "stream/mark_fields.h"

shot_status shot_reader_sent(shot_reader *self, shot_status status) {
    self->sink_failed = self->sink_failed || status != SHOT_OK;
    return status;
}

shot_status shot_reader_flush_rows(shot_reader *self, shot_error *error) {
    if (self->rows.rows == 0)
        return SHOT_OK;
    shot_block block = shot_rows_front(&self->rows, self->rows.rows);
    shot_status status = shot_reader_sent(self, shot_sink_rows(self->next, &block, error));
    shot_rows_clear(&self->rows);
    return status;
}

/* What is wrong with it; NULL if nothing is. */
static const char *fault_of(const shot_mark *mark) {
    if (mark->refines != NULL && mark->id != NULL && strcmp(mark->refines, mark->id) == 0)
        return "refines itself";
    if (mark->to < mark->from)
        return "ends before it starts";
    if (mark->from_low > mark->from_high || mark->to_low > mark->to_high ||
        mark->value_low > mark->value_high)
        return "has an interval whose low end lies above its high end";
    return NULL;
}

shot_status shot_reader_doubt_mark(shot_reader *self, const shot_mark *mark) {
    const char *fault = fault_of(mark), *id = mark->id != NULL ? mark->id : "";
    if (*id == '\0' && !self->told_nameless)
        shot_notice_say(&self->settings.notice,
                        "%s:%zu: the mark '%.80s' has no id and cannot be refined; write id=NAME "
                        "(told once a shot)",
                        self->file, self->line, mark->kind);
    self->told_nameless = self->told_nameless || *id == '\0';
    if (*id != '\0')
        SHOT_TRY(shot_names_take(&self->mark_ids, id, &self->mark_id));
    if (*id != '\0' && strcmp(self->mark_id.bytes, id) != 0)
        shot_notice_say(&self->settings.notice,
                        "%s:%zu: the id '%.80s' comes twice in this shot: what refines it may mean "
                        "either mark",
                        self->file, self->line, id);
    if (fault != NULL)
        shot_notice_say(&self->settings.notice, "%s:%zu: the mark %.80s '%.80s' %s", self->file,
                        self->line, mark->kind, id, fault);
    return SHOT_OK;
}

shot_status shot_reader_send_mark(shot_reader *self, const char *text, const char *end, bool doubt,
                                  shot_error *error) {
    const shot_decimal *origin = self->plan.has_origin ? &self->plan.origin : NULL;
    shot_mark mark;
    SHOT_TRY(shot_mark_read_less(text, end, origin, &mark, error));
    shot_status status = doubt ? shot_reader_doubt_mark(self, &mark) : SHOT_OK;
    if (status == SHOT_OK)
        status = shot_reader_sent(self, shot_sink_mark(self->next, &mark, error));
    shot_mark_free(&mark);
    return status;
}

static shot_status flush_early_marks(shot_reader *self, shot_error *error) {
    for (size_t i = 0; i < self->early.line_count; i++) {
        const char *text = self->early.lines[i].value;
        SHOT_TRY(shot_reader_send_mark(self, text, text + strlen(text), false, error));
    }
    shot_head_free(&self->early);
    return SHOT_OK;
}

shot_status shot_reader_flush_waiting(shot_reader *self, shot_error *error) {
    for (size_t i = 0; i < self->waiting.line_count; i++)
        SHOT_TRY(
            shot_reader_sent(self, shot_sink_line(self->next, &self->waiting.lines[i], error)));
    shot_head_free(&self->waiting);
    return SHOT_OK;
}

/* ---- headers ---- */

static bool is_same_header(const shot_reader_header *header, const char *line, const char *end) {
    const size_t length = (size_t)(end - line);
    return header->channels != NULL && header->line.length == length &&
           memcmp(header->line.bytes, line, length) == 0;
}

static void forget_header(shot_reader_header *header) {
    shot_head channels = {.channels = header->channels, .channel_count = header->plan.count};
    shot_head_free(&channels);
    free(header->plan.columns);
    header->channels = NULL;
    header->plan = (shot_row_plan){0};
    shot_text_clear(&header->line);
}

shot_status shot_reader_read_header(shot_reader *self, const char *line, const char *end,
                                    shot_error *error) {
    shot_reader_header *header = &self->header;
    if (is_same_header(header, line, end)) {
        self->head.channels = header->channels;
        self->head.channel_count = header->plan.count;
        self->plan = header->plan;
        header->channels = NULL;
        header->plan = (shot_row_plan){0};
        return SHOT_OK;
    }
    forget_header(header);
    SHOT_TRY(shot_header_read(line, end, &self->head, &self->plan, error));
    return shot_text_add_bytes(&header->line, line, (size_t)(end - line));
}

/* The shot no longer needs what its header says, which may be half read. */
static void keep_header(shot_reader *self) {
    shot_reader_header *header = &self->header;
    if (header->line.length > 0) {
        header->channels = self->head.channels;
        header->plan = (shot_row_plan){.columns = self->plan.columns, .count = self->plan.count};
        self->head.channels = NULL;
        self->head.channel_count = 0;
    } else {
        free(self->plan.columns);
    }
    self->plan = (shot_row_plan){0};
}

void shot_reader_free_header(shot_reader *self) {
    forget_header(&self->header);
    shot_text_free(&self->header.line);
}

/* ---- shots ---- */

/* A name of its own for the shot. */
static shot_status settle_name(shot_reader *self) {
    char number[32];
    if (self->head.name == NULL)
        snprintf(number, sizeof number, "%zu", self->shots);
    const char *wanted = self->head.name != NULL ? self->head.name : number;
    SHOT_TRY(shot_names_take(&self->names, wanted, &self->name));
    if (strcmp(self->name.bytes, wanted) != 0)
        shot_notice_say(&self->settings.notice,
                        "%s:%zu: the name '%.80s' comes twice; this shot is called '%.90s'",
                        self->file, self->line, wanted, self->name.bytes);
    return shot_head_set_name(&self->head, self->name.bytes);
}

shot_status shot_reader_begin_shot(shot_reader *self, shot_error *error) {
    self->shots++;
    if (self->bears_history && !self->history_since_close)
        self->shots_since_close = 0; /* plain CSV before a stream is none of its shots */
    self->shots_since_close++;
    self->closed = false;
    self->row_count = 0;
    self->history_since_close = self->history_since_close || self->bears_history;
    SHOT_TRY(settle_name(self));
    self->place = SHOT_READER_RUNNING;
    SHOT_TRY(shot_reader_sent(self, shot_sink_begin(self->next, &self->head, error)));
    return flush_early_marks(self, error);
}

void shot_reader_forget_shot(shot_reader *self) {
    if (self->head.channels != NULL)
        keep_header(self);
    shot_head_free(&self->head);
    shot_names_free(&self->mark_ids);
    self->place = SHOT_READER_BETWEEN;
    self->bears_history = self->told_nameless = false;
}

void shot_reader_drop_headless(shot_reader *self) {
    if (self->place != SHOT_READER_BETWEEN || self->head.name == NULL)
        return;
    shot_notice_say(&self->settings.notice,
                    "%s:%zu: the shot '%.80s' before this line has no header and no rows; it is "
                    "left out",
                    self->file, self->line, self->head.name);
    shot_head_free(&self->early);
    shot_reader_forget_shot(self);
}

shot_status shot_reader_end_shot(shot_reader *self, bool cut, shot_error *error) {
    if (self->place == SHOT_READER_HEADED)
        SHOT_TRY(shot_reader_begin_shot(self, error));
    SHOT_TRY(shot_reader_flush_rows(self, error));
    SHOT_TRY(shot_reader_flush_waiting(self, error));
    SHOT_TRY(shot_reader_sent(self, shot_sink_end(self->next, cut, error)));
    self->cut_seen = self->cut_seen || cut;
    shot_reader_forget_shot(self);
    return SHOT_OK;
}

shot_status shot_reader_end_unsaid(shot_reader *self, shot_error *error) {
    return self->place == SHOT_READER_BETWEEN
               ? SHOT_OK
               : shot_reader_end_shot(self, self->bears_history, error);
}
