/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two tables of one clock become one. */
#ifndef SHOT_FILTER_JOIN_ROWS_H
#define SHOT_FILTER_JOIN_ROWS_H

#include <shottrace/trace/decimal.h>
#include <shottrace/trace/table.h>

/* Shift the times of `b` by `offset` and put it beside `a`: rows in the order of time, one for each
 * instant of either, missing where a log has no sample; channels of `b` whose name is taken get the
 * suffix .2; metadata of `b` whose key `a` does not have; marks of both under ids of their own.
 * `fill` puts in what is missing between the samples of a channel, by the monotone cubic, but not
 * in gaps.  SHOT_ERR_RANGE if a time is not below 10^27 s; SHOT_ERR_MEMORY.  *out is freed with
 * shot_table_free. */
shot_status join_tables(const shot_table *a, shot_table *b, const shot_decimal *offset, bool fill,
                        shot_table *out);

#endif
