/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A time as a person types it: of the log's own clock (7.4s), or one that counts from the first
 * row (+7.4s). */
#ifndef SHOT_FILTER_TYPED_TIME_H
#define SHOT_FILTER_TYPED_TIME_H

#include <stdbool.h>

#include <shottrace/trace/decimal.h>

typedef struct typed_time {
    shot_decimal clock;
    bool from_first_row;
} typed_time;

/* The errors of shot_log_time_read. */
shot_status typed_time_read(const char *text, typed_time *out);

/* True if both count from the same instant and `a` comes after `b`. */
bool typed_time_is_after(const typed_time *a, const typed_time *b);

/* The time in a trace whose first row is at `first`.  SHOT_ERR_SINGULAR where it counts from the
 * first row and there is none (`first` NaN). */
shot_status typed_time_settle(const typed_time *time, const shot_decimal *origin, double first,
                              double *out);

#endif
