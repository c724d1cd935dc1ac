/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units of JSON become headers, rows and lines of a table. */
#ifndef SHOT_STREAM_JSON_TABLE_H
#define SHOT_STREAM_JSON_TABLE_H

#include "stream/foreign_table.h"
#include "stream/json_unit.h"
#include "stream/metadata_text.h"
#include "stream/text_index.h"

/* How many samples tell which fields there are. */
enum { SHOT_JSON_LOOK_AHEAD = 16 };

/* Zeroed but for the first three it is ready. */
typedef struct shot_json_table {
    const struct shot_read_settings *settings;
    shot_foreign_table *table;
    shot_table_target *target;

    shot_json_unit held[SHOT_JSON_LOOK_AHEAD]; /* first samples, while no header was made */
    size_t held_count;
    bool headed;
    shot_text_index names; /* of the columns */
    shot_cell *cells;
    shot_metadata metadata;
    shot_text line;
} shot_json_table;

/* The single values of a unit, from field `first` on, as lines; lists of words are lines too. */
shot_status shot_json_table_lines(shot_json_table *self, const shot_json_unit *unit,
                                  shot_error *error);
/* A unit that is one row.  Its room is taken and another given in exchange. */
shot_status shot_json_table_sample(shot_json_table *self, shot_json_unit *unit, shot_error *error);
/* True if the lists of the unit are columns. */
bool shot_json_table_has_columns(const shot_json_table *self, const shot_json_unit *unit);
/* A unit whose lists are columns: a table of its own. */
shot_status shot_json_table_columns(shot_json_table *self, const shot_json_unit *unit,
                                    shot_error *error);
/* No further sample belongs to the table. */
shot_status shot_json_table_end(shot_json_table *self, shot_error *error);
void shot_json_table_free(shot_json_table *self);

#endif
