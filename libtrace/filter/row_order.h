/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows into the order of their times, and rows of one time, or nearly so (row_bursts.h), into one
 * row.
 *
 * Rows wait until none is expected any more that belongs before them: for a time, or behind a
 * number of rows.  A row later than that has strayed: its place has gone by.  Rows that stray are
 * kept until it shows whether they are left out, since later ones are in order again, or the clock
 * fell and goes on from there.
 */
#ifndef SHOT_FILTER_ROW_ORDER_H
#define SHOT_FILTER_ROW_ORDER_H

#include <shottrace/trace/block.h>
#include <shottrace/trace/option.h>

#include "signal/row_bursts.h"

/* A row that was put before others, or merged. */
typedef struct row_change {
    double time;
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
    shot_rows strays;         /* that came since the last row that was not too late */
    row_change change;
} row_order;

/* A zeroed row_order may be freed. */
shot_status row_order_begin(row_order *order, shot_span reach, size_t columns);

/* True if the place of a row of that time has gone by. */
bool row_order_is_past(const row_order *order, double time);

/* Keep row `index` of the block, whose place has gone by, in order->strays. */
shot_status row_order_stray(row_order *order, const shot_block *block, size_t index);

/* True if rows that are too late go on for longer than rows wait. */
bool row_order_fell(const row_order *order);

/* True if far more rows strayed than wait, and their times hardly go on: they do not show a clock
 * that fell, but one that stands, and are not to be kept. */
bool row_order_stands(const row_order *order);

/* SHOT_ERR_DATA with a sentence for that. */
shot_status row_order_fail_fallen(const row_order *order, shot_error *error);

/* Take row `index` of the block, whose place has not gone by; there are no strays.  *changed tells
 * that order->change describes what was done. */
shot_status row_order_add(row_order *order, const shot_block *block, size_t index, bool *changed);

/* How many rows at the start of the block come in order, each later than all before it by more than
 * next to nothing. */
size_t row_order_rising(row_order *order, const shot_block *block);

/* Take those that row_order_rising has just counted, at least one, at once; there are no strays. */
shot_status row_order_add_rising(row_order *order, const shot_block *block, size_t count);

/* How many of the rows in front wait no longer; all of them if `ended`.  To be asked, and these
 * rows dropped, after each addition: which row is too late must not depend on blocks. */
size_t row_order_ready(const row_order *order, bool ended);

shot_block row_order_front(const row_order *order, size_t count);
void row_order_drop(row_order *order, size_t count);

void row_order_free(row_order *order);

#endif
