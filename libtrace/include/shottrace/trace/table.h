/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A whole shot in memory: head, rows, marks and lines, for work that needs to see all of it. */
#ifndef SHOTTRACE_TRACE_TABLE_H
#define SHOTTRACE_TRACE_TABLE_H

#include <shottrace/trace/block.h>
#include <shottrace/trace/mark.h>
#include <shottrace/trace/shot.h>
#include <shottrace/trace/sink.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Lines that came after the first row are appended to head.lines as well; `early_lines` says how
 * many stood before it.  `turn` counts the filters of the detector's own name that the shot passed
 * before; 0 where no detector looks. */
typedef struct shot_table {
    shot_head head;
    shot_rows rows;
    shot_mark_list marks;
    size_t early_lines;
    bool cut;
    size_t turn;
} shot_table;

/* Collecting: begin (which forgets the shot before), then rows, marks and lines. */
SHOT_API shot_status shot_table_begin(shot_table *table, const shot_head *head);
SHOT_API shot_status shot_table_rows(shot_table *table, const shot_block *block);
SHOT_API shot_status shot_table_mark(shot_table *table, const shot_mark *mark);
SHOT_API shot_status shot_table_line(shot_table *table, const shot_line *line);
SHOT_API void shot_table_free(shot_table *table);

/* The column of a channel [rows.rows], or NULL if the shot has none of that name. */
SHOT_API const double *shot_table_column(const shot_table *table, const char *channel);

/* Drive a sink with the shot, from begin to end: early lines in the head, rows, later lines,
 * marks. */
SHOT_API shot_status shot_table_emit(const shot_table *table, shot_sink *sink, shot_error *error);

#ifdef __cplusplus
}
#endif
#endif
