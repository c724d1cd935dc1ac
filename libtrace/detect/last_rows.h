/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The last seconds of a running shot. */
#ifndef SHOT_DETECT_LAST_ROWS_H
#define SHOT_DETECT_LAST_ROWS_H

#include <shottrace/trace/table.h>

/* The rows of the last so many seconds as a shot of their own; what they hold is borrowed from
 * `shot`, which has a row.  SHOT_ERR_MEMORY.  Freed by shot_last_rows_free. */
shot_status shot_last_rows(const shot_table *shot, double seconds, shot_table *out);
void shot_last_rows_free(shot_table *last);

#endif
