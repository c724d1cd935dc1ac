/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-pick: shots, channels and samples out of many. */
#ifndef SHOTTRACE_FILTER_PICK_H
#define SHOTTRACE_FILTER_PICK_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

SHOT_API extern const shot_description shot_pick;

#ifdef __cplusplus
}
#endif
#endif
