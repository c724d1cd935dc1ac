/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What one object of a JSON log says, flattened: {"a": {"b": 1, "c": [2, 3]}} has the fields a.b
 * and a.c, of which the second is a list. */
#ifndef SHOT_STREAM_JSON_UNIT_H
#define SHOT_STREAM_JSON_UNIT_H

#include <stdbool.h>

#include <shottrace/status.h>
#include <shottrace/trace/text.h>

#include "stream/cell_text.h"

/* Texts are spans of `bytes`, which may move while the unit grows. */
typedef struct shot_json_field {
    size_t name, name_length;
    bool list;
    size_t first, count; /* its values: values[first .. first + count) */
} shot_json_field;

typedef struct shot_json_span {
    size_t start, length;
} shot_json_span;

/* Zeroed it is empty; free with shot_json_unit_free. */
typedef struct shot_json_unit {
    shot_text bytes;
    shot_json_field *fields;
    size_t count, room;
    shot_json_span *values;
    size_t value_count, value_room;
    size_t line;    /* where it starts */
    shot_text text; /* as it stood */
} shot_json_unit;

/* Add a field without values; values that follow are its own. */
shot_status shot_json_unit_add_field(shot_json_unit *unit, const char *name, size_t length,
                                     bool list);
shot_status shot_json_unit_add_value(shot_json_unit *unit, const char *text, size_t length);
/* Empty it and keep the room. */
void shot_json_unit_clear(shot_json_unit *unit);
void shot_json_unit_free(shot_json_unit *unit);

/* The name of a field, and its value `index`; empty if it has not so many. */
shot_cell shot_json_unit_name(const shot_json_unit *unit, size_t field);
shot_cell shot_json_unit_value(const shot_json_unit *unit, size_t field, size_t index);

#endif
