/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A table of metadata: a row a shot, a column a key. */
#ifndef SHOT_FILTER_TAG_TABLE_H
#define SHOT_FILTER_TAG_TABLE_H

#include <shottrace/trace/csv_line.h>
#include <shottrace/trace/name_list.h>
#include <shottrace/trace/shot.h>

typedef struct tag_row {
    char **values; /* [header.count]; that of an empty cell is NULL */
    size_t line;   /* of the file, 1-based */
} tag_row;

/* Zeroed it is empty.  There is a row for each of `shots`. */
typedef struct tag_table {
    shot_csv_line header, line;
    char **units;  /* [header.count], as in `dose [g]`, or NULL */
    tag_row *rows; /* [shots.count] */
    size_t room, lines;
    ptrdiff_t shot_column;
    shot_name_list shots;
    const char *name; /* of the file, borrowed */
    size_t failures;  /* lines and cells that could not be read, */
    shot_error last;  /* the last of them, */
    shot_text others; /* and those before it, a line each: "FILE:LINE: what is wrong" */
} tag_table;

/* Take the next line of the file, which may go on over line breaks in quotes: the header first, in
 * which one column is `shot` and every other a key, with or without a unit in brackets.  What is
 * wrong with the header is a failure; what is wrong with a row is kept, so that all of it is told. */
shot_status tag_table_add_line(tag_table *table, const char *line, size_t length,
                               shot_error *error);

/* All lines were taken: rows can be found.  The last failure of a row, the others being in `others`;
 * SHOT_ERR_SYNTAX, with the shot and the lines named, if one has two rows; SHOT_ERR_DATA if there
 * is no header. */
shot_status tag_table_finish(tag_table *table, shot_error *error);

/* Set the keys of a shot; *found is false where it has no row. */
shot_status tag_table_apply(tag_table *table, shot_head *head, bool *found);

void tag_table_free(tag_table *table);

#endif
