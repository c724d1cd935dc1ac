/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The log's own clock: what a person writes and reads, while a trace counts from its `# t0:`.
 *
 * Clocks are decimals, so that an epoch in nanoseconds loses no digit. */
#ifndef SHOTTRACE_TRACE_LOG_TIME_H
#define SHOTTRACE_TRACE_LOG_TIME_H

#include <shottrace/status.h>
#include <shottrace/trace/decimal.h>
#include <shottrace/trace/shot.h>
#include <shottrace/trace/text.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The log's own clock at time 0 of the trace: `# t0:` of the head, or 0.
 * SHOT_ERR_DATA, with the shot named, if that is no decimal number. */
SHOT_API shot_status shot_log_time_origin(const shot_head *head, shot_decimal *out,
                                          shot_error *error);

/* Reads all of `text` as a time: a number in seconds, or one with a unit of time (7.4s, 300ms,
 * 2min).  SHOT_ERR_SYNTAX if it is no number, SHOT_ERR_UNIT if what follows is no unit of time;
 * *out is untouched then. */
SHOT_API shot_status shot_log_time_read(const char *text, shot_decimal *out);

/* The time in the trace, in s, of an instant of the log's own clock; NaN where it is too large. */
SHOT_API double shot_log_time_to_trace(const shot_decimal *clock, const shot_decimal *origin);

/* The instant of the log's own clock at `time` of the trace.  SHOT_ERR_RANGE, and *out untouched,
 * if the time is not finite or the sum is too large. */
SHOT_API shot_status shot_log_time_from_trace(double time, const shot_decimal *origin,
                                              shot_decimal *out);

/* Append the instant of the log's own clock at `time` of the trace. */
SHOT_API shot_status shot_text_add_log_time(shot_text *text, double time,
                                            const shot_decimal *origin);

/* ... "FROM to TO", the instants at two times. */
SHOT_API shot_status shot_text_add_log_span(shot_text *text, double from, double to,
                                            const shot_decimal *origin);

#ifdef __cplusplus
}
#endif
#endif
