/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Slope breaks. */
#ifndef SHOTTRACE_DETECT_KNEES_H
#define SHOTTRACE_DETECT_KNEES_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

/* shot-knees: a detector that adds a `knee` mark wherever the slope of a channel breaks: from = to
 * = the instant, with its interval; value = slope after less slope before.  The knee at which a
 * restricted machine comes fully up to pressure bears the note "final rise" with its height.
 * With --model level it adds a `step` mark wherever the level jumps: value = level after less level
 * before. */
SHOT_API extern const shot_description shot_knees;

#ifdef __cplusplus
}
#endif
#endif
