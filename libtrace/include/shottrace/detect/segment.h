/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Phases of a shot. */
#ifndef SHOTTRACE_DETECT_SEGMENT_H
#define SHOTTRACE_DETECT_SEGMENT_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

/* shot-segment: a detector that adds the marks preinfusion, fill, soak, ramp, brew, release and
 * first-drip (docs/format.md defines them), and says in a note what cannot be known and why. */
SHOT_API extern const shot_description shot_segment;

#ifdef __cplusplus
}
#endif
#endif
