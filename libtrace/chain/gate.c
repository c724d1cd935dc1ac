/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A sink between a source and what works on its shots: whose failure one is, and of which shot. */
#include "chain/gate.h"

#include <stdio.h>
#include <string.h>

#include <shottrace/trace/head_key.h>
#include <shottrace/trace/stage.h>

typedef struct gate_sink {
    shot_stage stage;
    shot_gate_watch watch;
    char shot[SHOT_GATE_NAME_ROOM]; /* that runs, "" for none */
    bool failed, closed;
} gate_sink;

void shot_gate_copy_name(const shot_head *head, char out[SHOT_GATE_NAME_ROOM]) {
    const char *name = head->name != NULL ? head->name : "";
    const size_t length = strnlen(name, SHOT_GATE_NAME_ROOM - 1);
    memcpy(out, name, length);
    out[length] = '\0';
}

void shot_gate_name_shot(shot_status status, const char *shot, shot_error *error) {
    char what[sizeof error->what], quoted[SHOT_GATE_NAME_ROOM + 2];
    if (!shot_status_of_shot(status) || error == NULL || *shot == '\0' || error->what[0] == '\0')
        return;
    snprintf(quoted, sizeof quoted, "'%s'", shot);
    if (strstr(error->what, "shot '") != NULL || strstr(error->what, quoted) != NULL)
        return;
    memcpy(what, error->what, sizeof what);
    shot_fail(error, status, "shot '%s': %s", shot, what);
}

static shot_status through(shot_sink *sink, shot_status status, shot_error *error) {
    gate_sink *self = (gate_sink *)sink;
    self->failed = self->failed || status != SHOT_OK;
    shot_gate_name_shot(status, self->shot, error);
    return status;
}

/* Of a shot that has been through a filter the first one has told. */
static shot_status doubt_metadata(const gate_sink *self, const shot_head *head) {
    if (self->watch.notice == NULL || shot_head_value(head, "history") != NULL)
        return SHOT_OK;
    for (size_t i = 0; i < head->line_count; i++) {
        const shot_line *one = &head->lines[i];
        shot_error doubt = {0};
        if (one->key == NULL)
            continue;
        if (shot_head_key_judge(one->key, one->value, &doubt) == SHOT_ERR_MEMORY)
            return SHOT_ERR_MEMORY;
        if (doubt.what[0] != '\0')
            shot_notice_say(self->watch.notice, "%s: shot '%s': # %s",
                            *self->watch.file != NULL ? *self->watch.file : "-", self->shot,
                            doubt.what);
    }
    return SHOT_OK;
}

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    gate_sink *self = (gate_sink *)sink;
    const shot_notice *names = self->watch.names;
    if (names != NULL && names->say != NULL)
        names->say(names->user, head->name != NULL ? head->name : "");
    shot_gate_copy_name(head, self->shot);
    SHOT_TRY(through(sink, doubt_metadata(self, head), error));
    return through(sink, shot_stage_begin(sink, head, error), error);
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    return through(sink, shot_stage_rows(sink, block, error), error);
}

static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    return through(sink, shot_stage_mark(sink, one, error), error);
}

static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    return through(sink, shot_stage_line(sink, one, error), error);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    const shot_status status = through(sink, shot_stage_end(sink, cut, error), error);
    ((gate_sink *)sink)->shot[0] = '\0';
    return status;
}

static shot_status pause(shot_sink *sink, shot_error *error) {
    return through(sink, shot_stage_pause(sink, error), error);
}

static shot_status close(shot_sink *sink, bool cut, shot_error *error) {
    ((gate_sink *)sink)->shot[0] = '\0';
    const shot_status status = shot_stage_close(sink, cut, error);
    ((gate_sink *)sink)->closed = status == SHOT_OK;
    return through(sink, status, error);
}

static const shot_sink_calls calls = {begin, rows, mark, line, end, pause, close, shot_stage_free};

shot_status shot_gate_new(const shot_gate_watch *watch, shot_sink *next, shot_sink **out,
                          shot_error *error) {
    shot_making making = {.next = next};
    shot_stage *stage;
    *out = NULL;
    SHOT_TRY(shot_stage_new(&making, &calls, sizeof(gate_sink), &stage, error));
    if (watch != NULL)
        ((gate_sink *)stage)->watch = *watch;
    *out = &stage->sink;
    return SHOT_OK;
}

bool shot_gate_has_failed(const shot_sink *gate) {
    return ((const gate_sink *)gate)->failed;
}

bool shot_gate_has_closed(const shot_sink *gate) {
    return ((const gate_sink *)gate)->closed;
}
