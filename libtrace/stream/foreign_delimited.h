/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Delimited text of an unknown dialect drives a shot_table_target. */
#ifndef SHOT_STREAM_FOREIGN_DELIMITED_H
#define SHOT_STREAM_FOREIGN_DELIMITED_H

#include "stream/foreign_table.h"

typedef struct shot_delimited shot_delimited;

/* `table` is told of decimals, reasons and rejects, `target` gets headers and rows (the table's
 * own target, or one before it).  All borrowed; *out is freed with shot_delimited_free. */
shot_status shot_delimited_new(const struct shot_read_settings *settings, const shot_notice *notice,
                               shot_foreign_table *table, shot_table_target *target,
                               const char *file, shot_delimited **out);
/* UTF-8 text.  The first lines are held until they tell the dialect: a matter of lines and bytes,
 * never of pushes. */
shot_status shot_delimited_push(shot_delimited *delimited, const char *bytes, size_t count,
                                shot_error *error);
/* `cut` says that the text ended too early: a last line without its end is then left out. */
shot_status shot_delimited_finish(shot_delimited *delimited, bool cut, shot_error *error);
void shot_delimited_free(shot_delimited *delimited);

#endif
