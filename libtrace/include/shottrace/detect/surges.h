/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sudden losses of hydraulic resistance. */
#ifndef SHOTTRACE_DETECT_SURGES_H
#define SHOTTRACE_DETECT_SURGES_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

/* shot-surges: a detector that adds a mark `surge` for each loss of hydraulic resistance of 5 % or
 * more within 0.2 to 2 s while pressure is steady or falling (docs/surges.md). */
SHOT_API extern const shot_description shot_surges;

#ifdef __cplusplus
}
#endif
#endif
