/* SPDX-License-Identifier: GPL-3.0-or-later */
/* JSON (RFC 8259) cut into events, as bytes arrive.
 *
 * One value after another is allowed at the top, as in JSON lines; so are the words NaN and
 * Infinity, which some writers put for numbers.  Memory is that of the longest string, and the
 * depth is bounded: deeper nesting is an error, not a recursion. */
#ifndef SHOT_STREAM_JSON_TEXT_H
#define SHOT_STREAM_JSON_TEXT_H

#include <stdbool.h>

#include <shottrace/status.h>
#include <shottrace/trace/text.h>

enum { SHOT_JSON_DEPTH = 64 };

typedef enum shot_json_kind {
    SHOT_JSON_OBJECT,
    SHOT_JSON_OBJECT_END,
    SHOT_JSON_ARRAY,
    SHOT_JSON_ARRAY_END,
    SHOT_JSON_KEY,
    SHOT_JSON_STRING,
    SHOT_JSON_NUMBER, /* its text as it stood */
    SHOT_JSON_WORD,   /* true, false */
    SHOT_JSON_NULL    /* null, NaN, Infinity */
} shot_json_kind;

/* `text` is borrowed for the time of the call; strings are decoded. */
typedef struct shot_json_event {
    shot_json_kind kind;
    const char *text;
    size_t length;
    size_t line;
    size_t depth; /* of objects and arrays around it, itself not counted */
} shot_json_event;

typedef struct shot_json_calls {
    shot_status (*take)(void *user, const shot_json_event *event, shot_error *error);
    /* The text is no JSON here; `error` says why and in which line.  SHOT_OK takes the line in
     * which the value started for lost and reads the one behind it anew, any other status ends it.
     */
    shot_status (*bad)(void *user, shot_error *error);
    void *user;
} shot_json_calls;

typedef struct shot_json shot_json;

/* *out is freed with shot_json_free. */
shot_status shot_json_new(const shot_json_calls *calls, shot_json **out);
shot_status shot_json_push(shot_json *json, const char *bytes, size_t count, shot_error *error);
/* A value that is not complete is bad. */
shot_status shot_json_finish(shot_json *json, shot_error *error);

/* The text since the last forget, that of the byte at hand included, and the line in which it
 * starts; for messages about a value as it stood.  Blanks between values at the top are forgotten
 * by themselves. */
void shot_json_text(const shot_json *json, const char **text, size_t *length, size_t *line);
/* Forget the text before the byte at hand. */
void shot_json_forget(shot_json *json);
void shot_json_free(shot_json *json);

#endif
