/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The resampled values of one channel that wait until those of all channels are decided. */
#ifndef SHOT_SIGNAL_RESAMPLE_COLUMN_H
#define SHOT_SIGNAL_RESAMPLE_COLUMN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <shottrace/status.h>

typedef struct resample_column {
    bool weighed;  /* gains are kept too */
    double *value; /* owned [room], count of them in use */
    double *gain;  /* owned, alike, if weighed: the variance of each value where that of each sample
                    * is 1 and they are independent */
    size_t count, room;
    int64_t next; /* place in the grid of the value that comes next */
} resample_column;

/* Forget everything; the next value belongs to place k. */
void resample_column_begin(resample_column *column, int64_t k);

/* Append values; an infinite one is missing.  `gain` is not looked at unless the column is weighed.
 */
shot_status resample_column_add(resample_column *column, const double *value, const double *gain,
                                size_t n);

/* What comes before place k is missing; nothing happens if `next` is there already. */
shot_status resample_column_skip(resample_column *column, int64_t k);

/* The first n values have been handed on. */
void resample_column_drop(resample_column *column, size_t n);

void resample_column_clear(resample_column *column);

#endif
