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

#include <shottrace/stream/mark_text.h>
#include <shottrace/trace/number_text.h>
#include <shottrace/trace/stage.h>

#include "stream/metadata_text.h"
#include "stream/row_text.h"
#include "stream/shot_names.h"

enum { BLOCK_ROWS = 512 };

/* Where the reader stands in a shot. */
typedef enum place {
    BETWEEN, /* no header yet: metadata lines gather for the next shot */
    HEADED,  /* the header was read, the sink has not been told: the first row may set `# t0:` */
    RUNNING  /* rows come */
} place;

typedef struct reader {
    shot_source source;
    shot_sink *next;
    shot_reader_settings settings;

    char *file;
    size_t line;     /* of the line being read, 1-based */
    shot_text carry; /* the start of a line whose end has not come */
    bool file_has_bytes;

    place place;
    shot_head head; /* of the shot that runs or gathers */
    shot_row_plan plan;
    shot_rows rows;
    double *row;
    shot_mark_list early; /* marks that came before the first row */
    shot_head waiting;    /* lines behind the rows, which may belong to the next shot */
    bool bears_history, ended;
    double last_time;
    size_t row_count, coarse_steps;

    shot_names names;
    shot_text name;
    size_t shots, shots_since_close;
    bool history_since_close, closed, cut_seen;
    bool sink_failed;
    bool abandoned; /* the rest of this file is not read */
} reader;

/* ---- telling the sink ---- */

/* Remember that it was the sink that failed: it must not be called again. */
static shot_status sent(reader *self, shot_status status) {
    self->sink_failed = self->sink_failed || status != SHOT_OK;
    return status;
}

static shot_status flush_rows(reader *self, shot_error *error) {
    if (self->rows.rows == 0)
        return SHOT_OK;
    shot_block block = shot_rows_front(&self->rows, self->rows.rows);
    shot_status status = sent(self, shot_sink_rows(self->next, &block, error));
    shot_rows_clear(&self->rows);
    return status;
}

static shot_status flush_early_marks(reader *self, shot_error *error) {
    for (size_t i = 0; i < self->early.count; i++)
        SHOT_TRY(sent(self, shot_sink_mark(self->next, &self->early.marks[i], error)));
    shot_mark_list_clear(&self->early);
    return SHOT_OK;
}

/* The lines that waited turned out to belong to the shot that runs. */
static shot_status flush_waiting_lines(reader *self, shot_error *error) {
    for (size_t i = 0; i < self->waiting.line_count; i++)
        SHOT_TRY(sent(self, shot_sink_line(self->next, &self->waiting.lines[i], error)));
    shot_head_free(&self->waiting);
    return SHOT_OK;
}

static void warn(reader *self, const char *what) {
    shot_notice_say(&self->settings.notice, "%s:%zu: %s", self->file, self->line, what);
}

/* A name of its own for the shot. */
static shot_status settle_name(reader *self) {
    char number[32];
    snprintf(number, sizeof number, "%zu", self->shots);
    const char *wanted = self->head.name ? self->head.name : number;
    SHOT_TRY(shot_names_take(&self->names, wanted, &self->name));
    if (strcmp(self->name.bytes, wanted) != 0)
        shot_notice_say(&self->settings.notice,
                        "%s:%zu: the name '%.80s' comes twice; this shot is called '%.90s'",
                        self->file, self->line, wanted, self->name.bytes);
    return shot_head_set_name(&self->head, self->name.bytes);
}

static shot_status begin_shot(reader *self, shot_error *error) {
    self->shots++;
    self->shots_since_close++;
    self->closed = false;
    self->place = RUNNING;
    self->row_count = 0;
    self->history_since_close = self->history_since_close || self->bears_history;
    SHOT_TRY(settle_name(self));
    SHOT_TRY(sent(self, shot_sink_begin(self->next, &self->head, error)));
    return flush_early_marks(self, error);
}

/* Forget the shot and gather for the next one. */
static void forget_shot(reader *self) {
    shot_head_free(&self->head);
    shot_rows_free(&self->rows);
    free(self->plan.columns);
    self->plan = (shot_row_plan){0};
    free(self->row);
    self->row = NULL;
    self->place = BETWEEN;
    self->bears_history = self->ended = false;
}

static shot_status end_shot(reader *self, bool cut, shot_error *error) {
    if (self->place == HEADED)
        SHOT_TRY(begin_shot(self, error));
    SHOT_TRY(flush_rows(self, error));
    SHOT_TRY(flush_waiting_lines(self, error));
    SHOT_TRY(sent(self, shot_sink_end(self->next, cut, error)));
    self->cut_seen = self->cut_seen || cut;
    forget_shot(self);
    return SHOT_OK;
}

/* A shot ends because another begins or the file is over: fine for plain CSV; one that bears
 * history should have said so itself. */
static shot_status end_unsaid(reader *self, shot_error *error) {
    return self->place == BETWEEN ? SHOT_OK : end_shot(self, self->bears_history, error);
}

/* ---- '#' lines ---- */

static bool is_history(const char *key) {
    return key != NULL && strcmp(key, "history") == 0;
}

/* The text behind `KEY:` if the line is that of this key, else NULL. */
static const char *after_key(const char *line, const char *end, const char *key) {
    size_t length = strlen(key);
    if ((size_t)(end - line) <= length || memcmp(line, key, length) != 0 || line[length] != ':')
        return NULL;
    line += length + 1;
    while (line < end && (*line == ' ' || *line == '\t' || *line == '\r'))
        line++;
    return line;
}

/* The count in `rows=312`, or -1. */
static double count_of(const char *text, const char *end, const char *word) {
    size_t length = strlen(word);
    double count;
    if ((size_t)(end - text) > length && memcmp(text, word, length) == 0 &&
        shot_number_read(text + length, end, &count) != NULL)
        return count;
    return -1;
}

static shot_status end_line(reader *self, const char *text, const char *end, shot_error *error) {
    if (self->place == BETWEEN) {
        warn(self, "'# end:' without a shot before it");
        return SHOT_OK;
    }
    double said = count_of(text, end, "rows=");
    size_t rows = self->place == RUNNING ? self->row_count : 0;
    if (said != (double)rows)
        shot_notice_say(&self->settings.notice,
                        "%s:%zu: '# end: %.*s', but the shot has %zu rows; something between "
                        "dropped or added some",
                        self->file, self->line, (int)(end - text > 40 ? 40 : end - text), text,
                        rows);
    return end_shot(self, false, error);
}

static shot_status close_line(reader *self, const char *text, const char *end, shot_error *error) {
    SHOT_TRY(end_unsaid(self, error));
    double said = count_of(text, end, "shots=");
    if (said != (double)self->shots_since_close)
        shot_notice_say(&self->settings.notice,
                        "%s:%zu: '# close: %.*s', but %zu shots came; something between dropped "
                        "or added some",
                        self->file, self->line, (int)(end - text > 40 ? 40 : end - text), text,
                        self->shots_since_close);
    self->shots_since_close = 0;
    self->history_since_close = false;
    self->closed = true;
    return SHOT_OK;
}

static shot_status shot_name_line(reader *self, const char *text, const char *end,
                                  shot_error *error) {
    SHOT_TRY(end_unsaid(self, error));
    char *name = shot_text_copy_bytes(text, (size_t)(end - text));
    shot_status status = name ? SHOT_OK : SHOT_ERR_MEMORY;
    if (status == SHOT_OK && *name != '\0')
        status = shot_head_set_name(&self->head, name);
    free(name);
    return status;
}

/* Between header and rows, a stream that bears history has nothing to settle any more: what stands
 * there is told in its place, as it is within one process. */
static shot_status begin_headed(reader *self, shot_error *error) {
    return self->place == HEADED && self->bears_history ? begin_shot(self, error) : SHOT_OK;
}

static shot_status mark_line(reader *self, const char *text, const char *end, shot_error *error) {
    shot_mark mark;
    SHOT_TRY(begin_headed(self, error));
    SHOT_TRY(shot_mark_read(text, end, &mark, error));
    shot_status status;
    if (self->place == RUNNING) {
        status = flush_rows(self, error);
        if (status == SHOT_OK)
            status = sent(self, shot_sink_mark(self->next, &mark, error));
    } else {
        status = shot_mark_list_add(&self->early, &mark);
    }
    shot_mark_free(&mark);
    return status;
}

/* Metadata and comments.  Behind the rows of plain CSV they may be the head of the next file in a
 * `cat`: they wait for what follows. */
static shot_status other_line(reader *self, const char *key, const char *value, shot_error *error) {
    SHOT_TRY(begin_headed(self, error));
    if (self->place != RUNNING) {
        self->bears_history = self->bears_history || is_history(key);
        return shot_head_add_line(&self->head, key, value);
    }
    SHOT_TRY(flush_rows(self, error));
    if (!self->bears_history)
        return shot_head_add_line(&self->waiting, key, value);
    shot_line line = {(char *)key, (char *)value};
    return sent(self, shot_sink_line(self->next, &line, error));
}

static shot_status metadata_line(reader *self, const char *text, const char *end,
                                 shot_error *error) {
    const char *word = text;
    while (word < end && (*word == ' ' || *word == '\t' || *word == '\r'))
        word++;
    size_t length = shot_metadata_key(word, end);
    char *key = length ? shot_text_copy_bytes(word, length) : NULL;
    const char *start = length ? after_key(word, end, key ? key : "") : text;
    if (start == NULL)
        start = text;
    /* A line that was carried over ends with a NUL and need not be copied: it may be long. */
    char *copy = *end == '\0' ? NULL : shot_text_copy_bytes(start, (size_t)(end - start));
    const bool failed = (*end != '\0' && copy == NULL) || (length && key == NULL);
    shot_status status =
        failed ? SHOT_ERR_MEMORY : other_line(self, key, copy ? copy : start, error);
    free(key);
    free(copy);
    return status;
}

static shot_status hash_line(reader *self, const char *line, const char *end, shot_error *error) {
    const char *text = line + 1, *word = text, *value;
    while (word < end && (*word == ' ' || *word == '\t' || *word == '\r'))
        word++;
    if ((value = after_key(word, end, "mark")) != NULL)
        return mark_line(self, value, end, error);
    if ((value = after_key(word, end, "shot")) != NULL)
        return shot_name_line(self, value, end, error);
    if ((value = after_key(word, end, "end")) != NULL)
        return end_line(self, value, end, error);
    if ((value = after_key(word, end, "close")) != NULL)
        return close_line(self, value, end, error);
    return metadata_line(self, text, end, error);
}

/* ---- header and rows ---- */

/* Lines that waited behind the rows of the shot before belong to the shot of this header. */
static shot_status take_waiting_lines(reader *self, shot_head *waiting) {
    for (size_t i = 0; i < waiting->line_count; i++) {
        SHOT_TRY(shot_head_add_line(&self->head, waiting->lines[i].key, waiting->lines[i].value));
        self->bears_history = self->bears_history || is_history(waiting->lines[i].key);
    }
    return SHOT_OK;
}

static shot_status start_next_shot(reader *self, shot_error *error) {
    shot_head waiting = self->waiting;
    self->waiting = (shot_head){0};
    shot_status status = end_unsaid(self, error);
    if (status == SHOT_OK)
        status = take_waiting_lines(self, &waiting);
    shot_head_free(&waiting);
    return status;
}

static shot_status header_line(reader *self, const char *line, const char *end, shot_error *error) {
    SHOT_TRY(start_next_shot(self, error));
    SHOT_TRY(shot_header_read(line, end, &self->head, &self->plan, error));
    SHOT_TRY(shot_rows_init(&self->rows, self->plan.count));
    self->row = malloc(self->plan.count * sizeof *self->row);
    self->place = HEADED;
    self->coarse_steps = self->row_count = 0;
    return self->row ? SHOT_OK : SHOT_ERR_MEMORY;
}

/* `# t0:` of the head, or one of our own if the clock is too large for a double's fraction. */
static shot_status settle_origin(reader *self, const char *line, const char *end) {
    if (shot_head_value(&self->head, "t0") != NULL ||
        !shot_row_large_clock(line, end, &self->plan, &self->plan.origin))
        return SHOT_OK;
    char text[SHOT_DECIMAL_ROOM + 1];
    text[shot_decimal_write(text, &self->plan.origin)] = '\0';
    self->plan.has_origin = true;
    return shot_head_add_line(&self->head, "t0", text);
}

/* A clock in ms without a unit shows in its first steps: no logger waits 5 s between samples. */
static shot_status check_clock_unit(reader *self, double time, shot_error *error) {
    if (!self->plan.columns[0].unit_assumed || self->row_count > 3 || self->row_count == 0)
        return SHOT_OK;
    self->coarse_steps += time - self->last_time >= 5;
    if (self->coarse_steps < 3)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_UNIT,
                     "time has no unit and rises by %g a row; if it is in ms, write 'time [ms]' "
                     "in the header",
                     time - self->last_time);
}

static shot_status check_order(const reader *self, double time, shot_error *error) {
    if (self->settings.accept_disorder || self->row_count == 0 || time > self->last_time)
        return SHOT_OK;
    return shot_fail_disorder(self->last_time, time, error);
}

/* Read the row into self->row.  *rest is the end of the line, or where another file's first line
 * was joined to it. */
static shot_status read_row(reader *self, const char *line, const char *end, const char **rest,
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

static shot_status take_row(reader *self, shot_error *error) {
    if (self->place == HEADED)
        SHOT_TRY(begin_shot(self, error));
    if (self->waiting.line_count > 0)
        SHOT_TRY(flush_waiting_lines(self, error));
    SHOT_TRY(check_clock_unit(self, self->row[0], error));
    SHOT_TRY(check_order(self, self->row[0], error));
    self->last_time = self->row[0];
    self->row_count++;
    SHOT_TRY(shot_rows_append_row(&self->rows, self->row));
    return self->rows.rows >= BLOCK_ROWS ? flush_rows(self, error) : SHOT_OK;
}

static shot_status read_line(reader *self, const char *line, const char *end, shot_error *error);

static shot_status row_line(reader *self, const char *line, const char *end, shot_error *error) {
    const char *rest;
    if (self->place == BETWEEN)
        return shot_fail(error, SHOT_ERR_SYNTAX,
                         "a row without a header before it; a trace starts with a line such as "
                         "'time [s],pressure [bar]'");
    if (self->place == HEADED)
        SHOT_TRY(settle_origin(self, line, end));
    SHOT_TRY(read_row(self, line, end, &rest, error));
    SHOT_TRY(take_row(self, error));
    return rest < end ? read_line(self, rest, end, error) : SHOT_OK;
}

/* ---- lines ---- */

static shot_status read_line(reader *self, const char *line, const char *end, shot_error *error) {
    while (end > line && end[-1] == '\r') /* some programs write more than one */
        end--;
    if (end - line >= 3 && memcmp(line, "\xef\xbb\xbf", 3) == 0)
        line += 3; /* a byte order mark at the start of a file, or of one joined by `cat` */
    if (line == end)
        return SHOT_OK;
    if (memchr(line, '\0', (size_t)(end - line)) != NULL)
        return shot_fail(error, SHOT_ERR_SYNTAX,
                         "the line holds a NUL byte; this is no text (or it is UTF-16: convert "
                         "the log with shot-read)");
    if (*line == '#')
        return hash_line(self, line, end, error);
    if (shot_header_starts(line, end))
        return header_line(self, line, end, error);
    return row_line(self, line, end, error);
}

/* Hand on what came before the line that cannot be read, and say that this is all: of the stream,
 * or of this file where others may follow. */
static void abandon(reader *self) {
    if (self->sink_failed)
        return;
    if (self->place == RUNNING && flush_rows(self, NULL) == SHOT_OK)
        sent(self, shot_sink_end(self->next, true, NULL));
    forget_shot(self);
    shot_head_free(&self->waiting);
    shot_mark_list_clear(&self->early);
    shot_text_clear(&self->carry);
    self->file_has_bytes = false;
    self->line = 0;
    self->cut_seen = self->abandoned = true;
    if (!self->sink_failed && !self->settings.go_on)
        sent(self, shot_sink_close(self->next, true, NULL));
}

static shot_status located(reader *self, shot_status status, shot_error *error) {
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

static shot_status take_line(reader *self, const char *line, const char *end, shot_error *error) {
    self->line++;
    return located(self, read_line(self, line, end, error), error);
}

/* The room for a line is kept, unless it is very long: that one is likely to stay alone. */
static void clear_carry(reader *self) {
    enum { LONG = 1 << 20 };
    if (self->carry.room > LONG)
        shot_text_free(&self->carry);
    else
        shot_text_clear(&self->carry);
}

static shot_status push(shot_source *source, const char *bytes, size_t count, shot_error *error) {
    reader *self = (reader *)source;
    const char *end = bytes + count, *newline;
    if (self->abandoned)
        return SHOT_OK;
    self->file_has_bytes = self->file_has_bytes || count > 0;
    if (self->carry.length > 0 && (newline = memchr(bytes, '\n', count)) != NULL) {
        SHOT_TRY(located(self, shot_text_add_bytes(&self->carry, bytes, (size_t)(newline - bytes)),
                         error));
        SHOT_TRY(take_line(self, self->carry.bytes, self->carry.bytes + self->carry.length, error));
        clear_carry(self);
        bytes = newline + 1;
    }
    while (self->carry.length == 0 &&
           (newline = memchr(bytes, '\n', (size_t)(end - bytes))) != NULL) {
        SHOT_TRY(take_line(self, bytes, newline, error));
        bytes = newline + 1;
    }
    return located(self, shot_text_add_bytes(&self->carry, bytes, (size_t)(end - bytes)), error);
}

/* The last line of a file, which may lack its newline.  In plain CSV it is a line like any other;
 * in a stream that bears history it was cut somewhere, perhaps inside a number. */
static shot_status take_last_line(reader *self, shot_error *error) {
    if (self->carry.length == 0)
        return SHOT_OK;
    if (self->bears_history || self->history_since_close) {
        self->line++;
        warn(self, "the last line is incomplete and was left out");
        self->cut_seen = true;
        shot_text_clear(&self->carry);
        return SHOT_OK;
    }
    SHOT_TRY(take_line(self, self->carry.bytes, self->carry.bytes + self->carry.length, error));
    shot_text_clear(&self->carry);
    return SHOT_OK;
}

static shot_status end_file(reader *self, shot_error *error) {
    if (!self->file_has_bytes && self->abandoned)
        return SHOT_OK;
    if (!self->file_has_bytes)
        return located(self,
                       shot_fail(error, SHOT_ERR_DATA,
                                 "nothing to read: no byte came; did the program before it fail?"),
                       error);
    SHOT_TRY(take_last_line(self, error));
    SHOT_TRY(end_unsaid(self, error));
    if (self->history_since_close)
        self->cut_seen = true;
    if (self->shots == 0 && !self->closed)
        return located(self,
                       shot_fail(error, SHOT_ERR_SYNTAX,
                                 "no header line such as 'time [s],pressure [bar]' was found"),
                       error);
    return SHOT_OK;
}

static shot_status file(shot_source *source, const char *name, shot_error *error) {
    reader *self = (reader *)source;
    if (self->file_has_bytes || self->line > 0)
        SHOT_TRY(end_file(self, error));
    char *copy = shot_text_copy(name);
    if (copy == NULL)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory");
    free(self->file);
    self->file = copy;
    self->line = 0;
    self->file_has_bytes = self->abandoned = false;
    return SHOT_OK;
}

static shot_status pause(shot_source *source, shot_error *error) {
    reader *self = (reader *)source;
    SHOT_TRY(flush_rows(self, error));
    return sent(self, shot_sink_pause(self->next, error));
}

static shot_status finish(shot_source *source, shot_error *error) {
    reader *self = (reader *)source;
    shot_status status = end_file(self, error);
    if (status != SHOT_OK) { /* where files may follow, the sink was not closed */
        if (self->settings.go_on && !self->sink_failed)
            shot_sink_close(self->next, true, NULL);
        return status;
    }
    SHOT_TRY(sent(self, shot_sink_close(self->next, self->cut_seen, error)));
    if (!self->cut_seen)
        return SHOT_OK;
    if (error != NULL)
        snprintf(error->source, sizeof error->source, "%s", self->file);
    return shot_fail(error, SHOT_ERR_DATA,
                     "the stream was cut short: the program before it did not finish; what came "
                     "was handed on");
}

static void release(shot_source *source) {
    reader *self = (reader *)source;
    forget_shot(self);
    shot_mark_list_free(&self->early);
    shot_head_free(&self->waiting);
    shot_names_free(&self->names);
    shot_text_free(&self->name);
    shot_text_free(&self->carry);
    free(self->file);
    free(self);
}

static const shot_source_calls calls = {file, push, pause, finish, release};

shot_status shot_reader_new(const shot_reader_settings *settings, shot_sink *next,
                            shot_source **out, shot_error *error) {
    reader *self = calloc(1, sizeof *self);
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
