/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Groups of shots against each other, today against the usual, one series for itself. */
#ifndef SHOTTRACE_JUDGE_COMPARE_H
#define SHOTTRACE_JUDGE_COMPARE_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

/* shot-compare: a writer of a page for a person, at most 80 columns wide, or of CSV (RFC 4180).
 * The statistics are those of judge/contrast.h and judge/repeatability.h. */
SHOT_API extern const shot_description shot_compare;

#ifdef __cplusplus
}
#endif
#endif
