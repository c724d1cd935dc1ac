/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows of a shot in which its logger had lost its sensors. */
#ifndef SHOT_PUCK_LOST_ROWS_H
#define SHOT_PUCK_LOST_ROWS_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/trace/table.h>

/* Which rows are such, by the rules of signal/frozen_rows.h; lost has one for each row of the shot.
 * Returns how many. */
size_t lost_rows_find(const shot_table *shot, bool *lost);

#endif
