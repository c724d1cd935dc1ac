/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A table of metadata: a row a shot, a column a key. */
#ifndef SHOT_FILTER_TAG_TABLE_H
#define SHOT_FILTER_TAG_TABLE_H

#include <shottrace/trace/csv_line.h>
#include <shottrace/trace/name_list.h>
#include <shottrace/trace/shot.h>

/* Zeroed it is empty.  `values` has a row for each of `shots`; a value of a cell that was empty is
 * NULL. */
typedef struct tag_table {
    shot_csv_line header, line;
    char **units;   /* [header.count], as in `dose [g]`, or NULL */
    char ***values; /* [shots.count][header.count] */
    size_t room;
    ptrdiff_t shot_column;
    shot_name_list shots;
} tag_table;

/* Take a line: the header first, in which one column is `shot` and every other a key, with or
 * without a unit in brackets. */
shot_status tag_table_add_line(tag_table *table, const char *line, size_t length,
                               shot_error *error);

/* All lines were taken: rows can be found.  SHOT_ERR_SYNTAX, with the shot named, if one has two
 * rows; SHOT_ERR_DATA if there is no header. */
shot_status tag_table_finish(tag_table *table, shot_error *error);

/* Set the keys of a shot; *found is false where it has no row. */
shot_status tag_table_apply(tag_table *table, shot_head *head, bool *found);

void tag_table_free(tag_table *table);

#endif
