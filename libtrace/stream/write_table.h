/* SPDX-License-Identifier: GPL-3.0-or-later */
/* All shots of a stream as one tidy table, a row a sample. */
#ifndef SHOT_STREAM_WRITE_TABLE_H
#define SHOT_STREAM_WRITE_TABLE_H

#include <shottrace/trace/description.h>

/* A sink for shot_write with format CSV or TSV: columns shot, time, and the channels of the first
 * shot, or those that were said.  Rows go out as they come.  *out is freed with shot_sink_free. */
shot_status shot_write_table_new(const shot_making *making, shot_sink **out, shot_error *error);

#endif
