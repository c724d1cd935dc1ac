/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A sink that remembers what it was told. */
#include "chain/recorder.h"

#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/stage.h>
#include <shottrace/trace/text.h>

#include "room.h"

typedef enum event_kind {
    EVENT_BEGIN,
    EVENT_ROWS,
    EVENT_MARK,
    EVENT_LINE,
    EVENT_END,
    EVENT_NOTICE
} event_kind;

struct shot_event {
    event_kind kind;
    bool cut;
    union {
        shot_head head;
        shot_rows rows;
        shot_mark mark;
        shot_line line;
        char *notice;
    } of;
};

static shot_event *add(shot_recorder *self, event_kind kind) {
    shot_event *events = room_for_more(self->events, self->count, &self->room, 8, sizeof *events);
    if (events == NULL)
        return NULL;
    self->events = events;
    shot_event *event = &self->events[self->count++];
    memset(event, 0, sizeof *event);
    event->kind = kind;
    return event;
}

static void forget(shot_event *event) {
    switch (event->kind) {
    case EVENT_BEGIN:
        shot_head_free(&event->of.head);
        break;
    case EVENT_ROWS:
        shot_rows_free(&event->of.rows);
        break;
    case EVENT_MARK:
        shot_mark_free(&event->of.mark);
        break;
    case EVENT_LINE:
        free(event->of.line.key);
        free(event->of.line.value);
        break;
    case EVENT_NOTICE:
        free(event->of.notice);
        break;
    case EVENT_END:
        break;
    }
}

/* What could not be kept whole is not kept: it must not be told again. */
static shot_status kept(shot_recorder *self, shot_event *event, shot_status status,
                        shot_error *error) {
    if (event != NULL && status == SHOT_OK)
        return SHOT_OK;
    if (event != NULL) {
        forget(event);
        self->count--;
    }
    return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for a shot");
}

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    shot_event *event = add((shot_recorder *)sink, EVENT_BEGIN);
    const shot_status status = event ? shot_head_copy(head, &event->of.head) : SHOT_ERR_MEMORY;
    return kept((shot_recorder *)sink, event, status, error);
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    shot_recorder *self = (shot_recorder *)sink;
    shot_event *event = add(self, EVENT_ROWS);
    shot_status status = event ? shot_rows_init(&event->of.rows, block->columns) : SHOT_ERR_MEMORY;
    if (status == SHOT_OK)
        status = shot_rows_append(&event->of.rows, block);
    self->rows += block->rows;
    return kept(self, event, status, error);
}

static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    shot_event *event = add((shot_recorder *)sink, EVENT_MARK);
    const shot_status status = event ? shot_mark_copy(one, &event->of.mark) : SHOT_ERR_MEMORY;
    return kept((shot_recorder *)sink, event, status, error);
}

static shot_status copy_line(const shot_line *one, shot_line *out) {
    *out = (shot_line){shot_text_copy(one->key), shot_text_copy(one->value)};
    const bool whole = out->value != NULL && (one->key == NULL || out->key != NULL);
    return whole ? SHOT_OK : SHOT_ERR_MEMORY;
}

static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    shot_event *event = add((shot_recorder *)sink, EVENT_LINE);
    const shot_status status = event ? copy_line(one, &event->of.line) : SHOT_ERR_MEMORY;
    return kept((shot_recorder *)sink, event, status, error);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    shot_event *event = add((shot_recorder *)sink, EVENT_END);
    if (event != NULL)
        event->cut = cut;
    return kept((shot_recorder *)sink, event, SHOT_OK, error);
}

static const shot_sink_calls calls = {
    .begin = begin, .rows = rows, .mark = mark, .line = line, .end = end};

void shot_recorder_init(shot_recorder *recorder) {
    *recorder = (shot_recorder){.sink = {&calls}};
}

void shot_recorder_say(void *recorder, const char *text) {
    shot_event *event = add(recorder, EVENT_NOTICE);
    if (event != NULL)
        event->of.notice = shot_text_copy(text);
}

static shot_status replay(const shot_event *event, shot_sink *sink, const shot_notice *notice,
                          shot_error *error) {
    shot_block block;
    switch (event->kind) {
    case EVENT_BEGIN:
        return shot_sink_begin(sink, &event->of.head, error);
    case EVENT_ROWS:
        block = shot_rows_front(&event->of.rows, event->of.rows.rows);
        return shot_sink_rows(sink, &block, error);
    case EVENT_MARK:
        return shot_sink_mark(sink, &event->of.mark, error);
    case EVENT_LINE:
        return shot_sink_line(sink, &event->of.line, error);
    case EVENT_END:
        return shot_sink_end(sink, event->cut, error);
    case EVENT_NOTICE:
        if (event->of.notice != NULL)
            shot_notice_say(notice, "%s", event->of.notice);
        return SHOT_OK;
    }
    return SHOT_ERR_RANGE;
}

shot_status shot_recorder_replay(const shot_recorder *recorder, shot_sink *sink,
                                 const shot_notice *notice, shot_error *error) {
    for (size_t i = 0; i < recorder->count; i++)
        SHOT_TRY(replay(&recorder->events[i], sink, notice, error));
    return SHOT_OK;
}

void shot_recorder_clear(shot_recorder *recorder) {
    for (size_t i = 0; i < recorder->count; i++)
        forget(&recorder->events[i]);
    free(recorder->events);
    shot_recorder_init(recorder);
}
