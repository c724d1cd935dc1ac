/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rows of a foreign table, whatever it was written in, become shots of a sink.
 *
 * Whoever reads a form of text (delimited, JSON) drives a shot_table_target: for each table its
 * header, then its rows; lines that are neither may come at any time. */
#ifndef SHOT_STREAM_FOREIGN_TABLE_H
#define SHOT_STREAM_FOREIGN_TABLE_H

#include <shottrace/trace/description.h>

#include "stream/read_settings.h"
#include "stream/records.h"

/* Failures are final: no further call is made. */
typedef struct shot_table_target shot_table_target;
typedef struct shot_table_target_calls {
    /* Metadata as a key and its value; a comment if `key` is NULL. */
    shot_status (*line)(shot_table_target *target, const char *key, const char *value,
                        shot_error *error);
    /* A table begins: its titles, and its row of units or NULL. */
    shot_status (*header)(shot_table_target *target, const shot_record *titles,
                          const shot_record *units, shot_error *error);
    shot_status (*row)(shot_table_target *target, const shot_record *row, shot_error *error);
    /* The table is complete. */
    shot_status (*end)(shot_table_target *target, shot_error *error);
    void (*free)(shot_table_target *target);
} shot_table_target_calls;
struct shot_table_target {
    const shot_table_target_calls *calls;
};

typedef struct shot_foreign_table shot_foreign_table;

/* `making` and all that it points to is borrowed.  *out is freed with shot_foreign_table_free. */
shot_status shot_foreign_table_new(const shot_making *making, shot_foreign_table **out,
                                   shot_error *error);
/* The target that fills it; lives as long as the table, and its own free does nothing. */
shot_table_target *shot_foreign_table_target(shot_foreign_table *table);

/* The name of the file that the rows come from, for messages and for shots without a name;
 * borrowed, until the table was told of the next one. */
shot_status shot_foreign_table_file(shot_foreign_table *table, const char *name);
/* True if what came last is a trace stream that bears history, and so says its own ends. */
bool shot_foreign_table_is_stream(const shot_foreign_table *table);
/* The file is text of lines, of which some may say where a shot begins or ends. */
void shot_foreign_table_text(shot_foreign_table *table);
/* The decimal mark of numbers, 0 if it is still open: the first number with a fraction tells. */
void shot_foreign_table_decimal(shot_foreign_table *table, char decimal);
/* Reasons for what was guessed, a line each, told with --explain. */
void shot_foreign_table_explain(shot_foreign_table *table, const shot_text *reasons);
/* A row that its own form cannot make cells of; `error` says where and why. */
shot_status shot_foreign_table_reject(shot_foreign_table *table, const shot_record *row,
                                      shot_error *error);

/* Something else was lost: told, and counted as a failure at the end. */
void shot_foreign_table_lose(shot_foreign_table *table, const char *what);
/* The bytes ended too early: what is still to come is all there is. */
void shot_foreign_table_cut(shot_foreign_table *table);

/* Hand on all rows that are settled; the sink's pause. */
shot_status shot_foreign_table_pause(shot_foreign_table *table, shot_error *error);
/* Nothing more comes.  SHOT_ERR_DATA, after the sink was told all, if anything was lost or no row
 * could be read. */
shot_status shot_foreign_table_finish(shot_foreign_table *table, shot_error *error);
/* Reading failed: hand on what came of the shot, and tell the sink that this is all; with `go_on`
 * another file may follow, and the sink is not closed yet. */
void shot_foreign_table_abandon(shot_foreign_table *table, bool go_on);
void shot_foreign_table_free(shot_foreign_table *table);

#endif
