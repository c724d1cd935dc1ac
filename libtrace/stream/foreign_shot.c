/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shots of a foreign log, told to the sink. */
#include "stream/foreign_shot.h"

#include <stdio.h>
#include <string.h>

#include <shottrace/stream/mark_text.h>
#include <shottrace/trace/head_key.h>
#include <shottrace/trace/stage.h>

#include "ascii.h"
#include "stream/head_text.h"
#include "stream/mark_fields.h"

enum { BLOCK_ROWS = 512 };

/* Remember that it was the sink that failed. */
static shot_status sent(shot_foreign_shot *shot, shot_status status) {
    shot->failed = shot->failed || status != SHOT_OK;
    return status;
}

shot_status shot_foreign_shot_flush(shot_foreign_shot *shot, shot_error *error) {
    if (shot->rows.rows == 0)
        return SHOT_OK;
    shot_block block = shot_rows_front(&shot->rows, shot->rows.rows);
    shot_status status = sent(shot, shot_sink_rows(shot->next, &block, error));
    shot_rows_clear(&shot->rows);
    return status;
}

/* ----------------------------------------------------------------------------------- lines --- */

/* What is wrong with a mark is said where it stands. */
static shot_status wait_for_mark(shot_foreign_shot *shot, const char *text, shot_error *error) {
    shot_mark mark;
    SHOT_TRY(shot_mark_read(text, text + strlen(text), &mark, error));
    shot_mark_free(&mark);
    return shot_head_add_line(&shot->marks, NULL, text);
}

static shot_status send_mark(shot_foreign_shot *shot, const char *text, shot_error *error) {
    shot_mark mark;
    SHOT_TRY(shot_mark_read_less(text, text + strlen(text), shot->has_origin ? &shot->origin : NULL,
                                 &mark, error));
    shot_status status = sent(shot, shot_sink_mark(shot->next, &mark, error));
    shot_mark_free(&mark);
    return status;
}

static void take_end(shot_foreign_shot *shot, const char *key) {
    shot->end_said = true;
    if (strcmp(key, "close") != 0)
        return;
    shot->history_since_close = false;
    shot->shots_since_close = 0;
}

shot_status shot_foreign_shot_line(shot_foreign_shot *shot, const char *key, const char *value,
                                   shot_error *error) {
    if (key != NULL) /* blanks behind a key's colon are no part of its value */
        value += strspn(value, " \t\r");
    if (key != NULL && (strcmp(key, "end") == 0 || strcmp(key, "close") == 0)) {
        take_end(shot, key); /* our own end says it again */
        return SHOT_OK;
    }
    if (key != NULL && strcmp(key, "history") == 0)
        shot->waiting_history = true;
    if (key != NULL && strcmp(key, "mark") == 0)
        return wait_for_mark(shot, value, error);
    if (key != NULL && strcmp(key, "shot") == 0)
        return *value == '\0' ? SHOT_OK : shot_head_set_name(&shot->waiting, value);
    return shot_head_add_line(&shot->waiting, key, value);
}

bool shot_foreign_shot_has_origin(const shot_foreign_shot *shot) {
    return shot_head_value(&shot->common, "t0") != NULL ||
           shot_head_value(&shot->waiting, "t0") != NULL;
}

bool shot_foreign_shot_lacks_end(const shot_foreign_shot *shot) {
    return shot->running && shot->bears_history && !shot->end_said;
}

bool shot_foreign_shot_lacks_close(const shot_foreign_shot *shot) {
    return shot->history_since_close;
}

shot_status shot_foreign_shot_settle(shot_foreign_shot *shot, shot_error *error) {
    if (!shot->running || shot->waiting.line_count + shot->marks.line_count == 0)
        return SHOT_OK;
    SHOT_TRY(shot_foreign_shot_flush(shot, error));
    for (size_t i = 0; i < shot->waiting.line_count; i++)
        SHOT_TRY(sent(shot, shot_sink_line(shot->next, &shot->waiting.lines[i], error)));
    for (size_t i = 0; i < shot->marks.line_count; i++)
        SHOT_TRY(send_mark(shot, shot->marks.lines[i].value, error));
    shot_head_free(&shot->waiting);
    shot_head_free(&shot->marks);
    return SHOT_OK;
}

shot_status shot_foreign_shot_share(shot_foreign_shot *shot) {
    shot_head_free(&shot->common);
    for (size_t i = 0; i < shot->waiting.line_count; i++)
        SHOT_TRY(shot_head_add_line(&shot->common, shot->waiting.lines[i].key,
                                    shot->waiting.lines[i].value));
    char *name = shot->waiting.name;
    shot->waiting.name = NULL;
    shot_head_free(&shot->waiting);
    shot->waiting.name = name;
    return SHOT_OK;
}

/* ------------------------------------------------------------------------------ begin and end - */

/* Where the ending of the name [start, end) begins; `end` if it has none.  An ending is a point, a
 * letter, and a few letters and digits more: what follows the points of a date or of a number is
 * part of the name. */
static const char *ending(const char *start, const char *end) {
    enum { LONGEST = 6 };
    const char *p = end;
    while (p > start && (ascii_is_letter(p[-1]) || ascii_is_digit(p[-1])))
        p--;
    const bool ends =
        p - start > 1 && p[-1] == '.' && p < end && ascii_is_letter(*p) && end - p <= LONGEST;
    return ends ? p - 1 : end;
}

shot_status shot_foreign_shot_file(shot_foreign_shot *shot, const char *name) {
    const char *slash = strrchr(name, '/'), *start = slash != NULL ? slash + 1 : name;
    const char *end = ending(start, start + strlen(start));
    if (strcmp(end, ".gz") == 0 || strcmp(end, ".zst") == 0)
        end = ending(start, end);
    shot_text_clear(&shot->stem);
    shot->shots_of_file = 0;
    if (strcmp(name, "-") == 0)
        return SHOT_OK;
    return shot_line_add(&shot->stem, start, (size_t)(end - start));
}

/* What a shot that bears no name is called: after its file, else by its number. */
static shot_status name_of_place(const shot_foreign_shot *shot, shot_text *name) {
    if (shot->stem.length == 0)
        return shot_text_add_format(name, "%zu", shot->shots);
    SHOT_TRY(shot_text_add(name, shot->stem.bytes));
    return shot->shots_of_file > 1 ? shot_text_add_format(name, "-%zu", shot->shots_of_file)
                                   : SHOT_OK;
}

static shot_status take_name(shot_foreign_shot *shot, const char *wanted, shot_head *head) {
    SHOT_TRY(shot_names_take(&shot->names, wanted, &shot->name));
    if (strcmp(shot->name.bytes, wanted) != 0)
        shot_notice_say(&shot->notice, "the name '%.80s' comes twice; this shot is called '%.90s'",
                        wanted, shot->name.bytes);
    return shot_head_set_name(head, shot->name.bytes);
}

static shot_status settle_name(shot_foreign_shot *shot, const char *name, shot_head *head) {
    name = name != NULL ? name : shot->waiting.name;
    shot_text line = {0};
    shot_status status =
        name != NULL ? shot_line_add(&line, name, strlen(name)) : name_of_place(shot, &line);
    if (status == SHOT_OK)
        status = take_name(shot, line.bytes, head);
    shot_text_free(&line);
    return status;
}

static shot_status add_lines(shot_head *head, const shot_head *from) {
    for (size_t i = 0; i < from->line_count; i++)
        SHOT_TRY(shot_head_add_line(head, from->lines[i].key, from->lines[i].value));
    return SHOT_OK;
}

static shot_status fill_head(shot_foreign_shot *shot, const char *name,
                             const shot_foreign_columns *columns, const shot_decimal *origin,
                             shot_head *head) {
    SHOT_TRY(settle_name(shot, name, head));
    SHOT_TRY(add_lines(head, &shot->common));
    SHOT_TRY(add_lines(head, &shot->waiting));
    if (origin != NULL) {
        char text[SHOT_DECIMAL_ROOM + 1];
        text[shot_decimal_write(text, origin)] = '\0';
        SHOT_TRY(shot_head_add_line(head, "t0", text));
    }
    if (shot->history != NULL)
        SHOT_TRY(shot_head_add_line(head, "history", shot->history));
    return shot_foreign_columns_declare(columns, head);
}

/* A log that went through a filter was judged there. */
static shot_status doubt_lines(const shot_foreign_shot *shot, const shot_head *head) {
    for (size_t i = 0; i < head->line_count && !shot->bears_history; i++) {
        shot_error doubt = {0};
        if (head->lines[i].key == NULL)
            continue;
        if (shot_head_key_judge(head->lines[i].key, head->lines[i].value, &doubt) ==
            SHOT_ERR_MEMORY)
            return SHOT_ERR_MEMORY;
        if (doubt.what[0] != '\0')
            shot_notice_say(&shot->notice, "shot '%.80s': # %s", shot->name.bytes, doubt.what);
    }
    return SHOT_OK;
}

shot_status shot_foreign_shot_begin(shot_foreign_shot *shot, const char *name,
                                    const shot_foreign_columns *columns, const shot_decimal *origin,
                                    shot_error *error) {
    shot_head head = {0};
    shot->shots++;
    shot->shots_of_file++;
    shot->notes = shot->came = shot->repeats = 0;
    shot->bears_history = shot->waiting_history;
    if (shot->bears_history && !shot->history_since_close)
        shot->shots_since_close = 0; /* plain CSV before a stream is none of its shots */
    shot->shots_since_close++;
    shot->history_since_close = shot->history_since_close || shot->waiting_history;
    shot->waiting_history = shot->end_said = false;
    shot->has_origin = origin != NULL;
    if (origin != NULL)
        shot->origin = *origin;
    shot_status status = fill_head(shot, name, columns, origin, &head);
    if (status == SHOT_OK)
        status = doubt_lines(shot, &head);
    shot_rows_free(&shot->rows);
    if (status == SHOT_OK)
        status = shot_rows_init(&shot->rows, head.channel_count);
    if (status == SHOT_OK)
        status = sent(shot, shot_sink_begin(shot->next, &head, error));
    shot_head_free(&head);
    shot_head_free(&shot->waiting);
    shot->running = status == SHOT_OK;
    return status;
}

/* More than four rows to each time of the clock are more than devices that take turns would make:
 * most of the log will be merged. */
static void tell_standing_clock(const shot_foreign_shot *shot) {
    enum { FEW = 16 };
    if (!shot->bears_history && shot->came >= FEW && 4 * (shot->came - shot->repeats) < shot->came)
        shot_notice_say(&shot->notice,
                        "shot '%.80s': %zu of %zu rows have the time of the row before: the clock "
                        "is too coarse to tell them apart, and shot-clean makes one row of those "
                        "of one time; if they come evenly, say --rate",
                        shot->name.bytes, shot->repeats, shot->came);
}

shot_status shot_foreign_shot_end(shot_foreign_shot *shot, bool cut, shot_error *error) {
    if (!shot->running)
        return SHOT_OK;
    tell_standing_clock(shot);
    SHOT_TRY(shot_foreign_shot_flush(shot, error));
    shot->running = false;
    return sent(shot, shot_sink_end(shot->next, cut, error));
}

/* ------------------------------------------------------------------------------------ rows --- */

shot_status shot_foreign_shot_row(shot_foreign_shot *shot, const double *values,
                                  shot_error *error) {
    SHOT_TRY(shot_foreign_shot_settle(shot, error));
    shot->repeats += shot->came++ > 0 && values[0] == shot->last_time;
    shot->last_time = values[0];
    SHOT_TRY(shot_rows_append_row(&shot->rows, values));
    return shot->rows.rows >= BLOCK_ROWS ? shot_foreign_shot_flush(shot, error) : SHOT_OK;
}

shot_status shot_foreign_shot_note(shot_foreign_shot *shot, double time, const char *column,
                                   const char *text, shot_error *error) {
    char id[32];
    snprintf(id, sizeof id, "n%zu", ++shot->notes);
    shot_mark mark = shot_mark_none();
    mark.kind = (char *)"note";
    mark.id = id;
    mark.from = mark.to = time;
    mark.channel = (char *)column;
    mark.note = (char *)text;
    SHOT_TRY(shot_foreign_shot_flush(shot, error));
    return sent(shot, shot_sink_mark(shot->next, &mark, error));
}

void shot_foreign_shot_forget_next(shot_foreign_shot *shot) {
    shot_head_free(&shot->waiting);
    shot_head_free(&shot->marks);
}

void shot_foreign_shot_forget(shot_foreign_shot *shot) {
    shot_head_free(&shot->common);
    shot_foreign_shot_forget_next(shot);
}

void shot_foreign_shot_free(shot_foreign_shot *shot) {
    shot_foreign_shot_forget(shot);
    shot_rows_free(&shot->rows);
    shot_names_free(&shot->names);
    shot_text_free(&shot->name);
    shot_text_free(&shot->stem);
}
