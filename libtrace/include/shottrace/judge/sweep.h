/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A measure against a setting: where is the peak, how sure, is there one at all? */
#ifndef SHOTTRACE_JUDGE_SWEEP_H
#define SHOTTRACE_JUDGE_SWEEP_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

/* shot-sweep: a writer of a page for a person, at most 80 columns wide, or of CSV (RFC 4180).  The
 * statistics are those of signal/peak.h and signal/vertex.h. */
SHOT_API extern const shot_description shot_sweep;

#ifdef __cplusplus
}
#endif
#endif
