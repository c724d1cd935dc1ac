/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A table with one row a reading (a column with its name, one with its value) becomes one with a
 * column for each name.  Readings that stand together and agree in all other columns (the time, the
 * shot) make one row. */
#ifndef SHOT_STREAM_FOREIGN_LONG_H
#define SHOT_STREAM_FOREIGN_LONG_H

#include "stream/foreign_table.h"

/* A target that drives `next`; the columns are those of --name-column, --value-column and
 * --unit-column.  The names are known only when the table, or the shot of --by, is over: it holds
 * that much.  *out is freed with its own call, `table` (told of
 * rows that cannot be read) and `next` are borrowed. */
shot_status shot_foreign_long_new(const struct shot_read_settings *settings,
                                  shot_foreign_table *table, shot_table_target *next,
                                  shot_table_target **out);

#endif
