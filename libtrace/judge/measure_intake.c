/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shots on their way into a table of measures. */
#include "judge/measure_intake.h"

#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/number_text.h>
#include <shottrace/trace/quantity.h>
#include <shottrace/trace/stage.h>

#include "lack_of_memory.h"

static shot_table *shot_of(shot_sink *sink) {
    return &((shot_measure_intake *)sink)->shot;
}

/* The status, with a sentence if it is lack of memory. */
static shot_status checked(shot_status status, shot_error *error) {
    return lack_of_memory_named(status, "the measures", error);
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

/* An average stands for the shots that it was made of. */
static shot_status take_average(shot_measure_intake *self, bool *taken, shot_error *error) {
    const shot_head *head = &self->shot.head;
    *taken = false;
    for (size_t i = 0; i < head->line_count; i++)
        if (head->lines[i].key != NULL && strcmp(head->lines[i].key, "measured") == 0) {
            *taken = true;
            SHOT_TRY(shot_measure_table_add_measured(self->table, head->lines[i].value, self->group,
                                                     error));
        }
    return SHOT_OK;
}

/* A score in words is the person's own business; one that begins with a number was meant as one. */
static void tell_of_score(const shot_measure_intake *self) {
    const char *score = shot_head_value(&self->shot.head, "score");
    double number;
    if (score == NULL || shot_quantity_read(score, "", &number) == SHOT_OK)
        return;
    if (shot_number_read(score, score + strlen(score), &number) != NULL)
        shot_notice_say(&self->notice,
                        "shot '%s': score '%s' is not a number alone and is left out",
                        self->shot.head.name, score);
}

static shot_status take_shot(shot_measure_intake *self, shot_error *error) {
    bool taken;
    SHOT_TRY(take_average(self, &taken, error));
    if (taken)
        return SHOT_OK;
    tell_of_score(self);
    SHOT_TRY(shot_measure_table_add_trace(self->table, &self->shot, self->group, error));
    return self->more == NULL ? SHOT_OK
                              : self->more(self->user, &self->shot, self->table,
                                           self->table->shot_count - 1, error);
}

static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    shot_measure_intake *self = (shot_measure_intake *)sink;
    if (cut) {
        shot_notice_say(&self->notice, "shot '%s' was cut short and is left out",
                        self->shot.head.name);
        return SHOT_OK;
    }
    return checked(take_shot(self, error), error);
}

static const shot_sink_calls intake_calls = {
    .begin = begin, .rows = rows, .mark = mark, .line = line, .end = end};

/* The header, which comes again where tables were put one behind the other.  A table made by hand
 * has the first four columns alone. */
static bool is_header(const char *text, size_t length) {
    static const char header[] = "shot,measure,value,unit";
    const size_t least = sizeof header - 1;
    return length >= least && memcmp(text, header, least) == 0 &&
           (length == least || text[least] == ',');
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
    const shot_intake into = {
        .sink = &intake->sink, .line = table_line, .user = intake, .go_on = true};
    intake->group = group;
    return loader->load(loader->user, paths, &into, error);
}

/* ---- writers ---- */

static shot_sink *intake_of(shot_sink *sink) {
    return &((shot_measure_writer *)sink)->intake.sink;
}

static shot_status push_begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    return shot_sink_begin(intake_of(sink), head, error);
}

static shot_status push_rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    return shot_sink_rows(intake_of(sink), block, error);
}

static shot_status push_mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    return shot_sink_mark(intake_of(sink), one, error);
}

static shot_status push_line(shot_sink *sink, const shot_line *one, shot_error *error) {
    return shot_sink_line(intake_of(sink), one, error);
}

static shot_status push_end(shot_sink *sink, bool cut, shot_error *error) {
    return shot_sink_end(intake_of(sink), cut, error);
}

static shot_status writer_close(shot_sink *sink, bool cut, shot_error *error) {
    shot_measure_writer *self = (shot_measure_writer *)sink;
    SHOT_TRY(shot_measure_intake_load(&self->intake, &self->loader, self->operands, 0, error));
    SHOT_TRY(checked(self->finish(self, error), error));
    return self->output->write(self->output->user, self->text.bytes, self->text.length, error);
}

static void writer_free(shot_sink *sink) {
    shot_measure_writer *self = (shot_measure_writer *)sink;
    self->release(self);
    shot_table_free(&self->intake.shot);
    shot_text_free(&self->text);
    free(self);
}

static const shot_sink_calls writer_calls = {.begin = push_begin,
                                             .rows = push_rows,
                                             .mark = push_mark,
                                             .line = push_line,
                                             .end = push_end,
                                             .close = writer_close,
                                             .free = writer_free};

shot_status shot_measure_writer_new(const shot_making *making, size_t size,
                                    shot_measure_writer **out, shot_error *error) {
    shot_measure_writer *self = *out = calloc(1, size);
    if (self == NULL)
        return checked(SHOT_ERR_MEMORY, error);
    self->sink.calls = &writer_calls;
    self->intake.sink.calls = &intake_calls;
    self->intake.notice = making->notice;
    self->output = making->output;
    self->operands = making->operands;
    self->loader = making->loader;
    return SHOT_OK;
}
