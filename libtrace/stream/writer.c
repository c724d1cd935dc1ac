/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The writer of trace streams. */
#include <shottrace/stream/writer.h>

#include <stdlib.h>
#include <string.h>

#include <shottrace/stream/mark_text.h>
#include <shottrace/trace/number_text.h>
#include <shottrace/trace/stage.h>
#include <shottrace/trace/text.h>

#include "stream/head_text.h"
#include "trace/number_row.h"

enum { FLUSH_AT = 64 * 1024 };

typedef struct writer {
    shot_sink sink;
    const shot_output *output;
    shot_text text;
    shot_head headed; /* the channels of the last shot: those of the next are mostly the same */
    shot_text header; /* of these */
    size_t rows, shots;
} writer;

static shot_status flush(writer *self, shot_error *error) {
    return shot_output_flush(self->output, &self->text, error);
}

/* Called after every addition: report lack of memory, and hand on what has gathered. */
static shot_status gathered(writer *self, shot_status status, shot_error *error) {
    if (status != SHOT_OK)
        return shot_fail(error, status, "out of memory for the output");
    return self->text.length >= FLUSH_AT ? flush(self, error) : SHOT_OK;
}

/* A long value goes out in pieces, so that no second copy of it gathers. */
static shot_status write_line(writer *self, const char *key, const char *value, shot_error *error) {
    SHOT_TRY(gathered(self, shot_line_open(&self->text, key), error));
    for (size_t left = strlen(value), piece; left > 0; left -= piece, value += piece) {
        piece = left < FLUSH_AT ? left : FLUSH_AT;
        SHOT_TRY(gathered(self, shot_line_add(&self->text, value, piece), error));
    }
    return gathered(self, shot_text_add(&self->text, "\n"), error);
}

static shot_status make_header(writer *self, const shot_head *head) {
    const shot_head channels = {.channels = head->channels, .channel_count = head->channel_count};
    if (self->header.length > 0 && shot_head_same_channels(head, &self->headed))
        return SHOT_OK;
    shot_text_clear(&self->header);
    SHOT_TRY(shot_head_copy_again(&channels, &self->headed));
    return shot_header_write(&self->header, head);
}

static shot_status write_header(writer *self, const shot_head *head) {
    SHOT_TRY(make_header(self, head));
    return shot_text_add_bytes(&self->text, self->header.bytes, self->header.length);
}

static shot_status begin(shot_sink *sink, const shot_head *head, shot_error *error) {
    writer *self = (writer *)sink;
    self->rows = 0;
    self->shots++;
    SHOT_TRY(write_line(self, "shot", head->name, error));
    for (size_t i = 0; i < head->line_count; i++)
        SHOT_TRY(write_line(self, head->lines[i].key, head->lines[i].value, error));
    return gathered(self, write_header(self, head), error);
}

static void add_rows(shot_text *text, const shot_block *block, size_t row, size_t rows) {
    char *place = shot_number_rows_write(text->bytes + text->length, block->column, block->columns,
                                         row, rows);
    *place = '\0';
    text->length = (size_t)(place - text->bytes);
}

/* Some rows at a time, so that what gathers stays small. */
static shot_status rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    enum { SOME = 16 };
    writer *self = (writer *)sink;
    const size_t room = block->columns * (SHOT_NUMBER_ROOM + 1);
    for (size_t row = 0, some; row < block->rows; row += some) {
        some = block->rows - row < SOME ? block->rows - row : SOME;
        shot_status status = shot_text_reserve(&self->text, some * room + 1);
        if (status == SHOT_OK)
            add_rows(&self->text, block, row, some);
        SHOT_TRY(gathered(self, status, error));
    }
    self->rows += block->rows;
    return SHOT_OK;
}

static shot_status mark(shot_sink *sink, const shot_mark *one, shot_error *error) {
    writer *self = (writer *)sink;
    shot_status status = shot_text_add(&self->text, "# mark: ");
    if (status == SHOT_OK)
        status = shot_mark_write(&self->text, one);
    if (status == SHOT_OK)
        status = shot_text_add(&self->text, "\n");
    return gathered(self, status, error);
}

static shot_status line(shot_sink *sink, const shot_line *one, shot_error *error) {
    writer *self = (writer *)sink;
    return write_line(self, one->key, one->value, error);
}

/* A shot or stream that was cut short gets no closing line, so that the next reader knows. */
static shot_status end(shot_sink *sink, bool cut, shot_error *error) {
    writer *self = (writer *)sink;
    if (cut)
        return SHOT_OK;
    return gathered(self, shot_text_add_format(&self->text, "# end: rows=%zu\n", self->rows),
                    error);
}

static shot_status close(shot_sink *sink, bool cut, shot_error *error) {
    writer *self = (writer *)sink;
    if (!cut)
        SHOT_TRY(gathered(
            self, shot_text_add_format(&self->text, "# close: shots=%zu\n", self->shots), error));
    self->shots = 0;
    return flush(self, error);
}

static shot_status pause(shot_sink *sink, shot_error *error) {
    return flush((writer *)sink, error);
}

static void release(shot_sink *sink) {
    writer *self = (writer *)sink;
    shot_text_free(&self->text);
    shot_text_free(&self->header);
    shot_head_free(&self->headed);
    free(sink);
}

static const shot_sink_calls calls = {begin, rows, mark, line, end, pause, close, release};

shot_status shot_writer_new(const shot_output *output, shot_sink **out, shot_error *error) {
    writer *self = calloc(1, sizeof *self);
    *out = self ? &self->sink : NULL;
    if (self == NULL)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for the output");
    self->sink.calls = &calls;
    self->output = output;
    return SHOT_OK;
}
