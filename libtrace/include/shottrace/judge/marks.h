/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The findings of a trace as a table. */
#ifndef SHOTTRACE_JUDGE_MARKS_H
#define SHOTTRACE_JUDGE_MARKS_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

/* shot-marks: a writer of CSV (RFC 4180) or JSON lines, one row a mark.  Times are the log's own
 * clock: its origin `# t0:` is added, exactly, to the time of the stream. */
SHOT_API extern const shot_description shot_marks;

#ifdef __cplusplus
}
#endif
#endif
