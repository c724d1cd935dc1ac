/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows into the order of their times, and rows of one time, or nearly so (row_bursts.h), into one
 * row.
 *
 * Rows wait until none is expected any more that belongs before them: for a time, or behind a
 * number of rows.  A row later than that has strayed: its place has gone by, and it is left out. An
 * error is only a clock that falls and goes on from there.
 */
#ifndef SHOT_FILTER_ROW_ORDER_H
#define SHOT_FILTER_ROW_ORDER_H

#include <shottrace/trace/block.h>
#include <shottrace/trace/option.h>

#include "signal/row_bursts.h"

/* A row that was put before others, merged, or left out. */
typedef struct row_change {
    double time;
    bool left_out;         /* too late; none of the following is said then but `late` */
    double late;           /* s behind the latest row before it; 0 for one that merely repeats */
    bool merged;           /* with a row of the same time, */
    bool nearly;           /* or of one that differs by next to nothing */
    bool differs;          /* some value was not the same */
    const bool *differing; /* [columns] which ones, if merged */
} row_change;

typedef struct row_order {
    shot_span reach;
    size_t columns;
    shot_rows rows;  /* by time; behind the columns as many that count the values merged in each */
    double *row;     /* work space                                      [2 columns] */
    bool *differing; /* of the last row merged                         [columns] */
    double newest;   /* the latest time that came */
    row_bursts bursts, ahead; /* ahead: behind the rows that rise */
    double passed;            /* the time of the last row taken */
    size_t strays;            /* rows too late, since the last one that was not */
    double strayed;           /* the time of the first of them */
    row_change change;
} row_order;

/* A zeroed row_order may be freed. */
shot_status row_order_begin(row_order *order, shot_span reach, size_t columns);

/* Take row `index` of the block.  *changed tells that order->change describes what was done.
 * SHOT_ERR_DATA if rows that are too late go on for longer than rows wait. */
shot_status row_order_add(row_order *order, const shot_block *block, size_t index, bool *changed,
                          shot_error *error);

/* How many rows at the start of the block come in order, each later than all before it by more than
 * next to nothing. */
size_t row_order_rising(row_order *order, const shot_block *block);

/* Take those that row_order_rising has just counted, at least one, at once. */
shot_status row_order_add_rising(row_order *order, const shot_block *block, size_t count);

/* How many of the rows in front wait no longer; all of them if `ended`.  To be asked, and these
 * rows dropped, after each addition: which row is too late must not depend on blocks. */
size_t row_order_ready(const row_order *order, bool ended);

shot_block row_order_front(const row_order *order, size_t count);
void row_order_drop(row_order *order, size_t count);

void row_order_free(row_order *order);

#endif
