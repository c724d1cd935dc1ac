/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Small pieces that a chain puts between its stages and before them. */
#include "chain/links.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/trace/number_text.h>
#include <shottrace/trace/stage.h>

/* ---- digits ---- */

typedef struct digits_sink {
    shot_stage stage;
    int digits;
    shot_rows rows;
} digits_sink;

static shot_status digits_begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    digits_sink *self = (digits_sink *)sink;
    shot_rows_free(&self->rows);
    SHOT_TRY(shot_rows_init(&self->rows, head->channel_count));
    return shot_stage_begin(sink, head, error);
}

static shot_status digits_rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    digits_sink *self = (digits_sink *)sink;
    shot_rows_clear(&self->rows);
    SHOT_TRY(shot_rows_append(&self->rows, block));
    for (size_t c = 1; c < block->columns; c++)
        shot_number_round_all(self->rows.column[c], block->rows, self->digits);
    shot_block out = shot_rows_front(&self->rows, block->rows);
    return shot_sink_rows(self->stage.next, &out, error);
}

static void digits_free(shot_sink *sink) {
    shot_rows_free(&((digits_sink *)sink)->rows);
    shot_stage_free(sink);
}

static const shot_sink_calls digits_calls = {digits_begin,     digits_rows,    shot_stage_mark,
                                             shot_stage_line,  shot_stage_end, shot_stage_pause,
                                             shot_stage_close, digits_free};

shot_status shot_digits_new(int digits, shot_sink *next, shot_sink **out, shot_error *error) {
    shot_making making = {.next = next};
    shot_stage *stage;
    *out = NULL;
    SHOT_TRY(shot_stage_new(&making, &digits_calls, sizeof(digits_sink), &stage, error));
    ((digits_sink *)stage)->digits = digits;
    *out = &stage->sink;
    return SHOT_OK;
}

/* ---- few rows ---- */

enum { MANY_ROWS = 512 };

typedef struct gather_sink {
    shot_stage stage;
    shot_rows rows;
} gather_sink;

static shot_status hand_on_gathered(shot_sink *sink, shot_error *error) {
    gather_sink *self = (gather_sink *)sink;
    if (self->rows.rows == 0)
        return SHOT_OK;
    const shot_block block = shot_rows_front(&self->rows, self->rows.rows);
    const shot_status status = shot_sink_rows(self->stage.next, &block, error);
    shot_rows_clear(&self->rows);
    return status;
}

static shot_status gather_begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    if (shot_rows_restart(&((gather_sink *)sink)->rows, head->channel_count) != SHOT_OK)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for rows");
    return shot_stage_begin(sink, head, error);
}

static shot_status gather_rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    gather_sink *self = (gather_sink *)sink;
    if (self->rows.rows == 0 && block->rows >= MANY_ROWS)
        return shot_stage_rows(sink, block, error);
    if (shot_rows_append(&self->rows, block) != SHOT_OK)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for rows");
    return self->rows.rows >= MANY_ROWS ? hand_on_gathered(sink, error) : SHOT_OK;
}

static shot_status gather_mark(shot_sink *sink, const shot_mark *mark, shot_error *error) {
    SHOT_TRY(hand_on_gathered(sink, error));
    return shot_stage_mark(sink, mark, error);
}

static shot_status gather_line(shot_sink *sink, const shot_line *line, shot_error *error) {
    SHOT_TRY(hand_on_gathered(sink, error));
    return shot_stage_line(sink, line, error);
}

static shot_status gather_end(shot_sink *sink, bool cut, shot_error *error) {
    SHOT_TRY(hand_on_gathered(sink, error));
    return shot_stage_end(sink, cut, error);
}

static shot_status gather_pause(shot_sink *sink, shot_error *error) {
    SHOT_TRY(hand_on_gathered(sink, error));
    return shot_stage_pause(sink, error);
}

static void gather_free(shot_sink *sink) {
    shot_rows_free(&((gather_sink *)sink)->rows);
    shot_stage_free(sink);
}

static const shot_sink_calls gather_calls = {gather_begin,     gather_rows, gather_mark,
                                             gather_line,      gather_end,  gather_pause,
                                             shot_stage_close, gather_free};

shot_status shot_gather_new(shot_sink *next, shot_sink **out, shot_error *error) {
    shot_making making = {.next = next};
    shot_stage *stage;
    *out = NULL;
    SHOT_TRY(shot_stage_new(&making, &gather_calls, sizeof(gather_sink), &stage, error));
    *out = &stage->sink;
    return SHOT_OK;
}

/* ---- order ---- */

typedef struct order_sink {
    shot_stage stage;
    double last;
} order_sink;

static shot_status order_begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    ((order_sink *)sink)->last = -INFINITY;
    return shot_stage_begin(sink, head, error);
}

static shot_status order_rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    order_sink *self = (order_sink *)sink;
    for (size_t r = 0; r < block->rows; r++) {
        double time = block->column[0][r];
        if (!(time > self->last))
            return shot_fail_disorder(self->last, time, error);
        self->last = time;
    }
    return shot_sink_rows(self->stage.next, block, error);
}

static const shot_sink_calls order_calls = {order_begin,      order_rows,     shot_stage_mark,
                                            shot_stage_line,  shot_stage_end, shot_stage_pause,
                                            shot_stage_close, shot_stage_free};

shot_status shot_order_new(shot_sink *next, shot_sink **out, shot_error *error) {
    shot_making making = {.next = next};
    shot_stage *stage;
    *out = NULL;
    SHOT_TRY(shot_stage_new(&making, &order_calls, sizeof(order_sink), &stage, error));
    *out = &stage->sink;
    return SHOT_OK;
}

/* ---- silence ---- */

typedef struct silence_source {
    shot_source source;
    shot_sink *next;
} silence_source;

static shot_status silence_file(shot_source *source, const char *name, shot_error *error) {
    return SHOT_OK;
}

static shot_status silence_push(shot_source *source, const char *bytes, size_t count,
                                shot_error *error) {
    return SHOT_OK;
}

static shot_status silence_pause(shot_source *source, shot_error *error) {
    return SHOT_OK;
}

static shot_status silence_finish(shot_source *source, shot_error *error) {
    return shot_sink_close(((silence_source *)source)->next, false, error);
}

static void silence_free(shot_source *source) {
    free(source);
}

static const shot_source_calls silence_calls = {silence_file,   silence_push, silence_pause,
                                                silence_finish, silence_free, NULL};

shot_status shot_silence_new(shot_sink *next, shot_source **out, shot_error *error) {
    silence_source *self = malloc(sizeof *self);
    *out = self ? &self->source : NULL;
    if (self == NULL)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory");
    *self = (silence_source){{&silence_calls}, next};
    return SHOT_OK;
}
