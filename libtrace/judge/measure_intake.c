/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shots on their way into a table of measures. */
#include "judge/measure_intake.h"

#include <string.h>

#include <shottrace/trace/stage.h>

static shot_table *shot_of(shot_sink *sink) {
    return &((shot_measure_intake *)sink)->shot;
}

static shot_status checked(shot_status status, shot_error *error) {
    return status == SHOT_ERR_MEMORY ? shot_fail(error, status, "out of memory for the measures")
                                     : status;
}

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    return checked(shot_table_begin(shot_of(sink), head), error);
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    return checked(shot_table_rows(shot_of(sink), block), error);
}

static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    return checked(shot_table_mark(shot_of(sink), one), error);
}

static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    return checked(shot_table_line(shot_of(sink), one), error);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    shot_measure_intake *self = (shot_measure_intake *)sink;
    if (cut) {
        shot_notice_say(&self->notice, "shot '%s' was cut short and is left out",
                        self->shot.head.name);
        return SHOT_OK;
    }
    return checked(shot_measure_table_add_trace(self->table, &self->shot, self->group, error),
                   error);
}

static const shot_sink_calls calls = {
    .begin = begin, .rows = rows, .mark = mark, .line = line, .end = end};

void shot_measure_intake_start(shot_measure_intake *intake, shot_measure_table *table,
                               shot_notice notice) {
    *intake = (shot_measure_intake){.sink = {&calls}, .table = table, .notice = notice};
}

/* The header, whole where tables were put one behind the other, else without its first two names.
 */
static bool is_header(const char *text, size_t length) {
    static const char start[] = "shot,measure,", rest[] = "value,unit,low,high,level,note";
    if (length > sizeof start - 1 && memcmp(text, start, sizeof start - 1) == 0) {
        text += sizeof start - 1;
        length -= sizeof start - 1;
    }
    return length == sizeof rest - 1 && memcmp(text, rest, length) == 0;
}

static shot_status table_line(void *user, const char *text, size_t length, shot_error *error) {
    shot_measure_intake *self = user;
    if (is_header(text, length))
        return SHOT_OK;
    return checked(shot_measure_table_add_line(self->table, text, length, self->group, error),
                   error);
}

shot_status shot_measure_intake_load(shot_measure_intake *intake, const shot_loader *loader,
                                     const shot_texts *paths, size_t group, shot_error *error) {
    const shot_intake into = {&intake->sink, table_line, intake};
    intake->group = group;
    return loader->load(loader->user, paths, &into, error);
}

void shot_measure_intake_free(shot_measure_intake *intake) {
    shot_table_free(&intake->shot);
}
