/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Dates and times of day: their texts in seconds, exactly. */
#ifndef SHOT_TRACE_DATE_TIME_H
#define SHOT_TRACE_DATE_TIME_H

#include <stdbool.h>

#include <shottrace/status.h>
#include <shottrace/trace/decimal.h>
#include <shottrace/trace/text.h>

/* All of a text as [hh:]mm:ss[.fff], with AM or PM if so written, in s since midnight; of two parts
 * hh:mm where `hours_minutes`.  False, and *seconds undefined, if it is none. */
bool time_of_day_read(const char *text, const char *end, bool hours_minutes, shot_decimal *seconds);

/* All of a text as a date and a time of day (ISO 8601-1:2019, or dd.mm.yyyy hh:mm[:ss],
 * or with slashes where day and month can be told apart), in s since
 * 1970-01-01 00:00, of UTC where a zone is written (*zoned).  False if it is none. */
bool date_time_read(const char *text, const char *end, shot_decimal *seconds, bool *zoned);

/* " on 2026-03-02": the day of an instant so many seconds after 1970-01-01. */
shot_status date_time_add_day(shot_text *words, double seconds);

#endif
