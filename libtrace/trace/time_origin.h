/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Moving the origin of a shot's time: rows, marks, and the log's own clock, which stays what it
 * was. */
#ifndef SHOT_TRACE_TIME_ORIGIN_H
#define SHOT_TRACE_TIME_ORIGIN_H

#include <shottrace/trace/decimal.h>
#include <shottrace/trace/table.h>

/* Time `origin` of the shot becomes 0, in decimal arithmetic, so that times print as short as they
 * did.  `# t0:` becomes larger by as much.  SHOT_ERR_RANGE if a time is not below 10^27 s;
 * SHOT_ERR_SYNTAX if `# t0:` is no number; SHOT_ERR_MEMORY. */
shot_status time_origin_move(shot_table *shot, double origin);

/* One time, and those of a mark, less `by`; a missing one stays missing. */
shot_status time_origin_shift(const shot_decimal *by, double *time);
shot_status time_origin_shift_mark(const shot_decimal *by, shot_mark *mark);

/* Add a line to those that stand before the rows. */
shot_status time_origin_add_early_line(shot_table *shot, const char *key, const char *value);

#endif
