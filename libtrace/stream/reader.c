/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The reader of trace streams.
 *
 * Bytes are cut into lines; a line is a '#' line, a header or a row.  Rows gather in a block that
 * goes on when it is full, when any other line comes, and at a pause.
 */
#include <shottrace/stream/reader.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "stream/reader_hash.h"
#include "trace/number_row.h"

/* Of a table with very many columns a block has fewer rows. */
enum { BLOCK_ROWS = 512, BLOCK_VALUES = 1 << 18 };

/* ---- header and rows ---- */

/* Lines that waited behind the rows of the shot before belong to the shot of this header. */
static shot_status take_waiting_lines(shot_reader *self, shot_head *waiting) {
    for (size_t i = 0; i < waiting->line_count; i++) {
        SHOT_TRY(shot_head_add_line(&self->head, waiting->lines[i].key, waiting->lines[i].value));
        self->bears_history = self->bears_history || shot_reader_is_history(waiting->lines[i].key);
    }
    return SHOT_OK;
}

static shot_status start_next_shot(shot_reader *self, shot_error *error) {
    shot_head waiting = self->waiting;
    self->waiting = (shot_head){0};
    shot_status status = shot_reader_end_unsaid(self, error);
    if (status == SHOT_OK)
        status = take_waiting_lines(self, &waiting);
    shot_head_free(&waiting);
    return status;
}

static shot_status header_line(shot_reader *self, const char *line, const char *end,
                               shot_error *error) {
    SHOT_TRY(start_next_shot(self, error));
    SHOT_TRY(shot_reader_read_header(self, line, end, error));
    SHOT_TRY(shot_rows_restart(&self->rows, self->plan.count));
    const size_t count = self->plan.count;
    const size_t room = count < NUMBERS_AT_ONCE ? NUMBERS_AT_ONCE : count;
    double *row = realloc(self->row, room * sizeof *row);
    if (row == NULL)
        return SHOT_ERR_MEMORY;
    self->row = row;
    self->place = SHOT_READER_HEADED;
    self->coarse_steps = self->row_count = 0;
    return SHOT_OK;
}

/* `# t0:` of the head, or one of our own if the clock is too large for a double's fraction. */
static shot_status settle_origin(shot_reader *self, const char *line, const char *end) {
    if (shot_head_value(&self->head, "t0") != NULL ||
        !shot_row_large_clock(line, end, &self->plan, &self->plan.origin))
        return SHOT_OK;
    char text[SHOT_DECIMAL_ROOM + 1];
    text[shot_decimal_write(text, &self->plan.origin)] = '\0';
    self->plan.has_origin = true;
    return shot_head_add_line(&self->head, "t0", text);
}

/* A clock in ms without a unit shows in its first steps: no logger waits 5 s between samples. */
static shot_status check_clock_unit(shot_reader *self, double time, shot_error *error) {
    if (!self->plan.columns[0].unit_assumed || self->row_count > 3 || self->row_count == 0)
        return SHOT_OK;
    self->coarse_steps += time - self->last_time >= 5;
    if (self->coarse_steps < 3)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_UNIT,
                     "time has no unit and rises by %g a row; if it is in ms, write 'time [ms]' "
                     "in the header, if in seconds 'time [s]'",
                     time - self->last_time);
}

static shot_status check_order(const shot_reader *self, double time, shot_error *error) {
    if (self->settings.accept_disorder || self->row_count == 0 || time > self->last_time)
        return SHOT_OK;
    return shot_fail_disorder(self->last_time, time, error);
}

/* Read the row into self->row.  *rest is the end of the line, or where another file's first line
 * was joined to it. */
static shot_status read_row(shot_reader *self, const char *line, const char *end, const char **rest,
                            shot_error *error) {
    *rest = end;
    shot_status status = shot_row_read(line, end, &self->plan, &self->head, self->row, error);
    if (status != SHOT_ERR_SYNTAX)
        return status;
    const char *seam = shot_row_seam(line, end);
    if (seam == NULL || shot_row_read(line, seam, &self->plan, &self->head, self->row, NULL))
        return status;
    *rest = seam;
    return SHOT_OK;
}

/* A number that no double holds is missing; that is told with its place. */
static void lose_too_large(shot_reader *self, const char *line, const char *end) {
    for (size_t c = 1; c < self->plan.count; c++) {
        const char *after, *text;
        if (!isinf(self->row[c]))
            continue;
        self->row[c] = NAN;
        if (!shot_loss_is_named(&self->too_large))
            continue;
        text = shot_row_field(line, end, c, &after);
        shot_notice_say(&self->settings.notice,
                        "%s:%zu: %s is '%.*s', too large for a number, and becomes missing",
                        self->file, self->line, self->head.channels[c].name,
                        after - text > 40 ? 40 : (int)(after - text), text);
    }
}

static shot_status take_time(shot_reader *self, double time, shot_error *error) {
    SHOT_TRY(check_clock_unit(self, time, error));
    SHOT_TRY(check_order(self, time, error));
    self->last_time = time;
    self->row_count++;
    return SHOT_OK;
}

/* At least one. */
static size_t block_rows(const shot_reader *self) {
    const size_t rows = BLOCK_VALUES / self->rows.columns;
    return rows == 0 ? 1 : rows < BLOCK_ROWS ? rows : BLOCK_ROWS;
}

static shot_status flush_if_full(shot_reader *self, shot_error *error) {
    return self->rows.rows >= block_rows(self) ? shot_reader_flush_rows(self, error) : SHOT_OK;
}

static shot_status take_row(shot_reader *self, shot_error *error) {
    if (self->place == SHOT_READER_HEADED)
        SHOT_TRY(shot_reader_begin_shot(self, error));
    if (self->waiting.line_count > 0)
        SHOT_TRY(shot_reader_flush_waiting(self, error));
    SHOT_TRY(take_time(self, self->row[0], error));
    SHOT_TRY(shot_rows_append_row(&self->rows, self->row));
    return flush_if_full(self, error);
}

/* Blocks are as long as if rows came one by one. */
static shot_status append_rows(shot_reader *self, const double *values, size_t rows,
                               shot_error *error) {
    const size_t columns = self->rows.columns;
    for (size_t some; rows > 0; values += some * columns, rows -= some) {
        const size_t room = block_rows(self) - self->rows.rows;
        some = rows < room ? rows : room;
        SHOT_TRY(shot_rows_append_rows(&self->rows, values, some));
        SHOT_TRY(flush_if_full(self, error));
    }
    return SHOT_OK;
}

/* The rows in self->row of a shot that runs, up to one that is wrong. */
static shot_status take_rows(shot_reader *self, size_t rows, shot_error *error) {
    const size_t count = self->plan.count;
    shot_status status = SHOT_OK;
    size_t right = 0;
    if (self->waiting.line_count > 0)
        SHOT_TRY(shot_reader_flush_waiting(self, error));
    for (; right < rows && status == SHOT_OK; right += status == SHOT_OK) {
        self->line++;
        status = take_time(self, self->row[right * count], error);
    }
    SHOT_TRY(append_rows(self, self->row, right, error));
    return status;
}

static shot_status read_line(shot_reader *self, const char *line, const char *end,
                             shot_error *error);

static shot_status row_line(shot_reader *self, const char *line, const char *end,
                            shot_error *error) {
    const char *rest;
    if (self->place == SHOT_READER_BETWEEN)
        return shot_fail(error, SHOT_ERR_SYNTAX,
                         "a row without a header before it; a trace starts with a line such as "
                         "'time [s],pressure [bar]'");
    if (self->place == SHOT_READER_HEADED) {
        SHOT_TRY(settle_origin(self, line, end));
        self->plain = shot_row_plan_is_plain(&self->plan);
    }
    SHOT_TRY(read_row(self, line, end, &rest, error));
    lose_too_large(self, line, rest);
    SHOT_TRY(take_row(self, error));
    return rest < end ? read_line(self, rest, end, error) : SHOT_OK;
}

/* ---- lines ---- */

static shot_status check_text(const char *bytes, const char *end, shot_error *error) {
    if (memchr(bytes, '\0', (size_t)(end - bytes)) == NULL)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_SYNTAX,
                     "the line holds a NUL byte; this is no text (or it is UTF-16: convert "
                     "the log with shot-read)");
}

/* No header, but a row whose time is garbled: then the shot is not whole. */
static bool is_broken_row(const shot_reader *self, const char *line, const char *end) {
    return self->place != SHOT_READER_BETWEEN && shot_row_has_figures(line, end);
}

static shot_status read_line(shot_reader *self, const char *line, const char *end,
                             shot_error *error) {
    while (end > line && end[-1] == '\r') /* some programs write more than one */
        end--;
    if (end - line >= 3 && memcmp(line, "\xef\xbb\xbf", 3) == 0)
        line += 3; /* a byte order mark at the start of a file, or of one joined by `cat` */
    if (line == end)
        return SHOT_OK;
    SHOT_TRY(check_text(line, end, error));
    if (*line == '#')
        return shot_reader_hash_line(self, line, end, error);
    if (shot_header_starts(line, end) && !is_broken_row(self, line, end))
        return header_line(self, line, end, error);
    return row_line(self, line, end, error);
}

/* The file is over: how many were not named. */
static void tell_too_large(shot_reader *self) {
    shot_loss_end_file(&self->too_large, &self->settings.notice, self->file,
                       "value is too large for a number", "values are too large for a number");
}

/* Hand on what came before the line that cannot be read, and say that this is all: of the stream,
 * or of this file where others may follow. */
static void abandon(shot_reader *self) {
    tell_too_large(self);
    if (self->sink_failed)
        return;
    if (self->place == SHOT_READER_RUNNING && shot_reader_flush_rows(self, NULL) == SHOT_OK)
        shot_reader_sent(self, shot_sink_end(self->next, true, NULL));
    shot_reader_forget_shot(self);
    shot_head_free(&self->waiting);
    shot_head_free(&self->early);
    shot_text_clear(&self->carry);
    self->file_begun = self->file_has_bytes = false;
    self->line = self->shots_since_close = 0; /* what it promised is not asked of the next file */
    self->history_since_close = false;
    self->lost = self->abandoned = true;
    if (!self->sink_failed && !self->settings.go_on)
        shot_reader_sent(self, shot_sink_close(self->next, true, NULL));
}

static shot_status located(shot_reader *self, shot_status status, shot_error *error) {
    if (status == SHOT_OK || self->sink_failed)
        return status;
    if (status == SHOT_ERR_MEMORY)
        shot_fail(error, status, "out of memory");
    if (error != NULL) {
        snprintf(error->source, sizeof error->source, "%s", self->file);
        error->line = self->line;
    }
    abandon(self);
    return status;
}

static shot_status take_line(shot_reader *self, const char *line, const char *end,
                             shot_error *error) {
    self->line++;
    return located(self, read_line(self, line, end, error), error);
}

/* The room for a line is kept, unless it is very long: that one is likely to stay alone. */
static void clear_carry(shot_reader *self) {
    enum { LONG = 1 << 20 };
    if (self->carry.room > LONG)
        shot_text_free(&self->carry);
    else
        shot_text_clear(&self->carry);
}

/* Keep the start of a line.  A file that is no text may be one endless line: it ends here. */
static shot_status carry(shot_reader *self, const char *bytes, const char *end, shot_error *error) {
    shot_status status = check_text(bytes, end, error);
    if (status == SHOT_OK)
        return located(self, shot_text_add_bytes(&self->carry, bytes, (size_t)(end - bytes)),
                       error);
    self->line++;
    return located(self, status, error);
}

/* The rows that start here, if they are all numbers, as those of other filters are; *bytes moves on
 * behind those that were taken.  *taken false leaves the line to those who know all kinds. */
static shot_status take_plain_rows(shot_reader *self, const char **bytes, const char *end,
                                   bool *taken, shot_error *error) {
    size_t rows;
    *taken = false;
    if (self->place != SHOT_READER_RUNNING || !self->plain)
        return SHOT_OK;
    const char *next = shot_number_rows_read(*bytes, end, self->row, self->plan.count, &rows);
    if (next == NULL || isnan(self->row[0]))
        return SHOT_OK;
    *taken = true;
    *bytes = next;
    return located(self, take_rows(self, rows, error), error);
}

/* Take the lines that are whole; *bytes moves on to the one that is not. */
static shot_status take_lines(shot_reader *self, const char **bytes, const char *end,
                              shot_error *error) {
    while (self->carry.length == 0 && *bytes < end) {
        bool taken;
        SHOT_TRY(take_plain_rows(self, bytes, end, &taken, error));
        if (taken)
            continue;
        const char *newline = memchr(*bytes, '\n', (size_t)(end - *bytes));
        if (newline == NULL)
            return SHOT_OK;
        SHOT_TRY(take_line(self, *bytes, newline, error));
        *bytes = newline + 1;
    }
    return SHOT_OK;
}

static shot_status push(shot_source *source, const char *bytes, size_t count, shot_error *error) {
    shot_reader *self = (shot_reader *)source;
    const char *end = bytes + count, *newline;
    if (self->abandoned)
        return SHOT_OK;
    self->file_has_bytes = self->file_has_bytes || count > 0;
    if (self->carry.length > 0 && (newline = memchr(bytes, '\n', count)) != NULL) {
        SHOT_TRY(carry(self, bytes, newline, error));
        SHOT_TRY(take_line(self, self->carry.bytes, self->carry.bytes + self->carry.length, error));
        clear_carry(self);
        bytes = newline + 1;
    }
    SHOT_TRY(take_lines(self, &bytes, end, error));
    return carry(self, bytes, end, error);
}

/* The last line of a file, which may lack its newline.  In plain CSV it is a line like any other;
 * in a stream that bears history it was cut somewhere, perhaps inside a number. */
static shot_status take_last_line(shot_reader *self, shot_error *error) {
    if (self->carry.length == 0)
        return SHOT_OK;
    if (self->bears_history || self->history_since_close) {
        self->line++;
        shot_notice_say(&self->settings.notice,
                        "%s:%zu: the last line is incomplete and was left out", self->file,
                        self->line);
        self->cut_seen = true;
        shot_text_clear(&self->carry);
        return SHOT_OK;
    }
    SHOT_TRY(take_line(self, self->carry.bytes, self->carry.bytes + self->carry.length, error));
    shot_text_clear(&self->carry);
    return SHOT_OK;
}

static shot_status tell_cut(const shot_reader *self, shot_error *error) {
    shot_fail(error, SHOT_ERR_DATA,
              "the stream was cut short: the program before it did not finish; what came was "
              "handed on");
    if (error != NULL)
        snprintf(error->source, sizeof error->source, "%s", self->file);
    return SHOT_ERR_DATA;
}

static shot_status end_file(shot_reader *self, shot_error *error) {
    tell_too_large(self);
    if (!self->file_has_bytes && self->abandoned)
        return SHOT_OK;
    if (!self->file_has_bytes)
        return located(self, shot_fail_no_bytes(self->file, error), error);
    SHOT_TRY(take_last_line(self, error));
    SHOT_TRY(shot_reader_end_unsaid(self, error));
    self->cut_seen = self->cut_seen || self->history_since_close;
    self->history_since_close = false;
    if (self->cut_seen && self->settings.go_on) {
        self->cut_seen = false; /* where other files follow, this one is named */
        abandon(self);
        return tell_cut(self, error);
    }
    if (self->shots == 0 && !self->closed)
        return located(self,
                       shot_fail(error, SHOT_ERR_SYNTAX,
                                 "no header line such as 'time [s],pressure [bar]' was found"),
                       error);
    shot_reader_drop_headless(self);
    return SHOT_OK;
}

static shot_status file(shot_source *source, const char *name, shot_error *error) {
    shot_reader *self = (shot_reader *)source;
    if (self->file_begun || self->file_has_bytes)
        SHOT_TRY(end_file(self, error));
    char *copy = shot_text_copy(name);
    if (copy == NULL)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory");
    free(self->file);
    self->file = copy;
    self->line = self->shots_since_close = 0;
    self->file_begun = true;
    self->file_has_bytes = self->abandoned = false;
    return SHOT_OK;
}

static shot_status file_end(shot_source *source, bool lost, shot_error *error) {
    shot_reader *self = (shot_reader *)source;
    if (lost && !self->abandoned)
        abandon(self);
    SHOT_TRY(end_file(self, error));
    self->file_begun = self->file_has_bytes = false;
    self->abandoned = true; /* nothing more of it */
    return SHOT_OK;
}

static shot_status pause(shot_source *source, shot_error *error) {
    shot_reader *self = (shot_reader *)source;
    SHOT_TRY(shot_reader_flush_rows(self, error));
    return shot_reader_sent(self, shot_sink_pause(self->next, error));
}

static shot_status finish(shot_source *source, shot_error *error) {
    shot_reader *self = (shot_reader *)source;
    shot_status status = end_file(self, error);
    if (status != SHOT_OK) { /* where files may follow, the sink was not closed */
        if (self->settings.go_on && !self->sink_failed)
            shot_sink_close(self->next, true, NULL);
        return status;
    }
    SHOT_TRY(
        shot_reader_sent(self, shot_sink_close(self->next, self->cut_seen || self->lost, error)));
    return self->cut_seen ? tell_cut(self, error) : SHOT_OK;
}

static void release(shot_source *source) {
    shot_reader *self = (shot_reader *)source;
    shot_reader_forget_shot(self);
    shot_reader_free_header(self);
    shot_rows_free(&self->rows);
    free(self->row);
    shot_head_free(&self->early);
    shot_head_free(&self->waiting);
    shot_names_free(&self->names);
    shot_text_free(&self->name);
    shot_text_free(&self->mark_id);
    shot_text_free(&self->carry);
    free(self->file);
    free(self);
}

static const shot_source_calls calls = {file, push, pause, finish, release, file_end};

shot_status shot_reader_new(const shot_reader_settings *settings, shot_sink *next,
                            shot_source **out, shot_error *error) {
    shot_reader *self = calloc(1, sizeof *self);
    *out = NULL;
    if (self == NULL || (self->file = shot_text_copy("-")) == NULL) {
        free(self);
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for reading");
    }
    self->source.calls = &calls;
    self->settings = *settings;
    self->next = next;
    *out = &self->source;
    return SHOT_OK;
}
