/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What all detectors share. */
#include <shottrace/trace/detector.h>

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/number_text.h>
#include <shottrace/trace/stage.h>
#include <shottrace/trace/text.h>

typedef struct detector {
    shot_stage stage;
    shot_detect detect;
    shot_table table;
} detector;

shot_status shot_findings_add(shot_findings *found, const shot_mark *mark) {
    return shot_mark_list_add(&found->marks, mark);
}

shot_status shot_findings_note(shot_findings *found, const char *filter, const char *format, ...) {
    char text[512];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    shot_line *lines = realloc(found->lines, (found->line_count + 1) * sizeof *lines);
    if (lines == NULL)
        return SHOT_ERR_MEMORY;
    found->lines = lines;
    shot_text value = {0};
    char *key = shot_text_copy("note");
    shot_status status = shot_text_add_format(&value, "shot-%s: %s", filter, text);
    if (key == NULL || status != SHOT_OK) {
        free(key);
        shot_text_free(&value);
        return SHOT_ERR_MEMORY;
    }
    lines[found->line_count++] = (shot_line){key, value.bytes};
    return SHOT_OK;
}

void shot_findings_free(shot_findings *found) {
    for (size_t i = 0; i < found->line_count; i++) {
        free(found->lines[i].key);
        free(found->lines[i].value);
    }
    free(found->lines);
    shot_mark_list_free(&found->marks);
    *found = (shot_findings){0};
}

/* Estimates are handed on in digits that mean something: times to a microsecond, finer than any
 * logger's clock, figures to six digits. */
static void round_time(double *time) {
    double microseconds = round(*time * 1e6);
    if (fabs(microseconds) < 9e15)
        *time = microseconds / 1e6;
}

static void round_figure(double *figure) {
    char digits[SHOT_NUMBER_ROOM];
    size_t length = shot_number_write_digits(digits, *figure, 6);
    if (length > 0)
        shot_number_read(digits, digits + length, figure);
}

static void round_estimates(shot_mark *mark) {
    double *const times[] = {&mark->from,      &mark->to,     &mark->from_low,
                             &mark->from_high, &mark->to_low, &mark->to_high};
    double *const figures[] = {&mark->value, &mark->value_low, &mark->value_high};
    for (size_t i = 0; i < sizeof times / sizeof *times; i++)
        round_time(times[i]);
    for (size_t i = 0; i < sizeof figures / sizeof *figures; i++)
        round_figure(figures[i]);
}

/* Round, give the mark an id if it has none, keep it for later detectors' ids, and hand it on. */
static shot_status hand_on(detector *self, shot_mark *mark, shot_error *error) {
    round_estimates(mark);
    if (mark->id == NULL)
        SHOT_TRY(shot_mark_list_id_for(&self->table.marks, mark->kind, &mark->id));
    SHOT_TRY(shot_table_mark(&self->table, mark));
    return shot_sink_mark(self->stage.next, mark, error);
}

static shot_status find_and_hand_on(detector *self, shot_error *error) {
    shot_findings found = {0};
    shot_status status = self->detect(&self->table, self->stage.settings, &found, error);
    for (size_t i = 0; i < found.line_count && status == SHOT_OK; i++)
        status = shot_sink_line(self->stage.next, &found.lines[i], error);
    for (size_t i = 0; i < found.marks.count && status == SHOT_OK; i++)
        status = hand_on(self, &found.marks.marks[i], error);
    shot_findings_free(&found);
    if (status == SHOT_ERR_MEMORY)
        shot_fail(error, status, "shot '%s': out of memory", self->table.head.name);
    return status;
}

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    SHOT_TRY(shot_table_begin(&((detector *)sink)->table, head));
    return shot_stage_begin(sink, head, error);
}

static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    SHOT_TRY(shot_table_rows(&((detector *)sink)->table, block));
    return shot_stage_rows(sink, block, error);
}

static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    SHOT_TRY(shot_table_mark(&((detector *)sink)->table, one));
    return shot_stage_mark(sink, one, error);
}

static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    SHOT_TRY(shot_table_line(&((detector *)sink)->table, one));
    return shot_stage_line(sink, one, error);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    detector *self = (detector *)sink;
    self->table.cut = cut;
    SHOT_TRY(find_and_hand_on(self, error));
    return shot_stage_end(sink, cut, error);
}

static void release(shot_sink *sink) {
    shot_table_free(&((detector *)sink)->table);
    shot_stage_free(sink);
}

static const shot_sink_calls calls = {
    begin, rows, mark, line, end, shot_stage_pause, shot_stage_close, release};

shot_status shot_detector_new(const shot_making *making, shot_detect detect, shot_sink **out,
                              shot_error *error) {
    shot_stage *stage = NULL;
    *out = NULL;
    SHOT_TRY(shot_stage_new(making, &calls, sizeof(detector), &stage, error));
    ((detector *)stage)->detect = detect;
    *out = &stage->sink;
    return SHOT_OK;
}

void shot_detector_latency(const void *settings, char *out, size_t room) {
    snprintf(out, room, "0 s for samples; marks come at the end of the shot");
}
