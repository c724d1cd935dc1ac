/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A table of marks: its columns, and a table read back.
 *
 *     shot,id,kind,from,to,channel,value,unit,from.low,...,level,refines,note
 *
 * Times of a table are those of the log's own clock; those of a mark count from the `# t0:` of its
 * shot, so a row becomes a mark only where the shot is known.
 */
#ifndef SHOTTRACE_TRACE_MARK_TABLE_H
#define SHOTTRACE_TRACE_MARK_TABLE_H

#include <shottrace/trace/csv_line.h>
#include <shottrace/trace/decimal.h>
#include <shottrace/trace/mark.h>
#include <shottrace/trace/name_list.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef enum shot_mark_column_kind {
    SHOT_MARK_TEXT,   /* char * */
    SHOT_MARK_NUMBER, /* double */
    SHOT_MARK_TIME    /* double, in s; in the log's own clock when it is written */
} shot_mark_column_kind;

typedef struct shot_mark_column {
    const char *name;
    shot_mark_column_kind kind;
    size_t offset; /* of the field in shot_mark */
} shot_mark_column;

enum { SHOT_MARK_COLUMNS = 16, SHOT_MARK_TIMES = 6 };

/* The columns behind `shot`, in their fixed order. */
SHOT_API extern const shot_mark_column shot_mark_columns[SHOT_MARK_COLUMNS];

/* A row: the mark, with its times apart, in the order of their columns. */
typedef struct shot_mark_row {
    shot_mark mark;
    shot_decimal clock[SHOT_MARK_TIMES];
    bool has[SHOT_MARK_TIMES];
} shot_mark_row;

/* Zeroed it is empty.  `shots` has a name for each row. */
typedef struct shot_mark_table {
    shot_mark_row *rows;
    size_t count, room;
    shot_name_list shots;
    shot_csv_line header, line; /* while lines are read */
} shot_mark_table;

/* Take a line of CSV: the first one is the header, with `shot`, `kind` and `from` in any order;
 * columns that are no field of a mark become extras of it, and without a column `to` a mark ends
 * where it begins.  The header may come again where tables were put one behind the other.  Empty
 * lines are passed over. SHOT_ERR_SYNTAX with a sentence, also of a mark or an interval that ends
 * before it starts; SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_mark_table_add_line(shot_mark_table *table, const char *line,
                                              size_t length, shot_error *error);

/* Take a mark of a shot whose clock has that origin. */
SHOT_API shot_status shot_mark_table_add(shot_mark_table *table, const char *shot,
                                         const shot_mark *mark, const shot_decimal *origin);

/* The mark of a row in the time of a trace with that origin; *out is freed with shot_mark_free. */
SHOT_API shot_status shot_mark_row_settle(const shot_mark_row *row, const shot_decimal *origin,
                                          shot_mark *out);

SHOT_API void shot_mark_table_free(shot_mark_table *table);

#ifdef __cplusplus
}
#endif
#endif
