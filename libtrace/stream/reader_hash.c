/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The '#' lines of a trace stream: marks, the name of a shot, its end, the end of the stream,
 * metadata and comments. */
#include "stream/reader_hash.h"

#include <stdlib.h>
#include <string.h>

#include <shottrace/stream/mark_text.h>

#include "stream/metadata_text.h"
#include "plain_format.h"

bool shot_reader_is_history(const char *key) {
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

static shot_status end_line(shot_reader *self, const char *text, const char *end,
                            shot_error *error) {
    if (self->place == SHOT_READER_BETWEEN) {
        shot_notice_say(&self->settings.notice, "%s:%zu: '# end:' without a shot before it",
                        self->file, self->line);
        return SHOT_OK;
    }
    double said = shot_metadata_count(text, end, "rows=");
    size_t rows = self->place == SHOT_READER_RUNNING ? self->row_count : 0;
    if (said != (double)rows)
        shot_notice_say(&self->settings.notice,
                        "%s:%zu: '# end: %.*s', but the shot has %zu row%s; something between "
                        "dropped or added some",
                        self->file, self->line, (int)(end - text > 40 ? 40 : end - text), text,
                        rows, shot_plural(rows));
    return shot_reader_end_shot(self, false, error);
}

static shot_status close_line(shot_reader *self, const char *text, const char *end,
                              shot_error *error) {
    SHOT_TRY(shot_reader_end_unsaid(self, error));
    shot_reader_drop_headless(self);
    double said = shot_metadata_count(text, end, "shots=");
    if (said != (double)self->shots_since_close)
        shot_notice_say(&self->settings.notice,
                        "%s:%zu: '# close: %.*s', but %zu shot%s came; something between "
                        "dropped or added some",
                        self->file, self->line, (int)(end - text > 40 ? 40 : end - text), text,
                        self->shots_since_close, shot_plural(self->shots_since_close));
    self->shots_since_close = 0;
    self->history_since_close = false;
    self->closed = true;
    return SHOT_OK;
}

static shot_status shot_name_line(shot_reader *self, const char *text, const char *end,
                                  shot_error *error) {
    SHOT_TRY(shot_reader_end_unsaid(self, error));
    shot_reader_drop_headless(self);
    char *name = shot_text_copy_bytes(text, (size_t)(end - text));
    shot_status status = name ? SHOT_OK : SHOT_ERR_MEMORY;
    if (status == SHOT_OK && *name != '\0')
        status = shot_head_set_name(&self->head, name);
    free(name);
    return status;
}

/* Between header and rows, a stream that bears history has nothing to settle any more: what stands
 * there is told in its place, as it is within one process. */
static shot_status begin_headed(shot_reader *self, shot_error *error) {
    return self->place == SHOT_READER_HEADED && self->bears_history
               ? shot_reader_begin_shot(self, error)
               : SHOT_OK;
}

/* A mark before the first row waits as text for the clock, but what is wrong is said here. */
static shot_status early_mark(shot_reader *self, const char *text, const char *end,
                              shot_error *error) {
    shot_mark mark;
    SHOT_TRY(shot_mark_read(text, end, &mark, error));
    const shot_status doubted = shot_reader_doubt_mark(self, &mark);
    shot_mark_free(&mark);
    SHOT_TRY(doubted);
    char *copy = shot_text_copy_bytes(text, (size_t)(end - text));
    shot_status status =
        copy != NULL ? shot_head_add_line(&self->early, NULL, copy) : SHOT_ERR_MEMORY;
    free(copy);
    return status;
}

static shot_status mark_line(shot_reader *self, const char *text, const char *end,
                             shot_error *error) {
    SHOT_TRY(begin_headed(self, error));
    if (self->place != SHOT_READER_RUNNING)
        return early_mark(self, text, end, error);
    SHOT_TRY(shot_reader_flush_rows(self, error));
    return shot_reader_send_mark(self, text, end, true, error);
}

/* Metadata and comments.  Behind the rows of plain CSV they may be the head of the next file in a
 * `cat`: they wait for what follows. */
static shot_status other_line(shot_reader *self, const char *key, const char *value,
                              shot_error *error) {
    SHOT_TRY(begin_headed(self, error));
    if (self->place != SHOT_READER_RUNNING) {
        self->bears_history = self->bears_history || shot_reader_is_history(key);
        return shot_head_add_line(&self->head, key, value);
    }
    SHOT_TRY(shot_reader_flush_rows(self, error));
    if (!self->bears_history)
        return shot_head_add_line(&self->waiting, key, value);
    shot_line line = {(char *)key, (char *)value};
    return shot_reader_sent(self, shot_sink_line(self->next, &line, error));
}

static shot_status metadata_line(shot_reader *self, const char *text, const char *end,
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

shot_status shot_reader_hash_line(shot_reader *self, const char *line, const char *end,
                                  shot_error *error) {
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
