/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One shot, one summary. */
#ifndef SHOTTRACE_JUDGE_REPORT_H
#define SHOTTRACE_JUDGE_REPORT_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

/* shot-report: a writer of a block of text a shot for a person, at most 80 columns wide, or of the
 * measures (judge/measure.h) as CSV (RFC 4180) or JSON lines (RFC 8259) for machines. */
SHOT_API extern const shot_description shot_report;

#ifdef __cplusplus
}
#endif
#endif
