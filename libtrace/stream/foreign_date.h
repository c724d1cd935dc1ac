/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A date in a column of its own beside one of times of day: together they are the clock. */
#ifndef SHOT_STREAM_FOREIGN_DATE_H
#define SHOT_STREAM_FOREIGN_DATE_H

#include "stream/foreign_columns.h"

/* Look for the date, by its title and the rows: columns->date, whose use becomes DATE, or
 * NO_COLUMN. Only where the time of day has seconds: what a stopwatch shows has no date.
 * SHOT_ERR_MEMORY. */
shot_status shot_foreign_date_find(shot_foreign_columns *columns, const shot_record *rows,
                                   size_t row_count);

/* "2026-05-04" and "07:30:00.5" as one text, in `out`; empty without a time. */
shot_status shot_foreign_date_join(const shot_cell *date, const shot_cell *time, shot_text *out);

#endif
