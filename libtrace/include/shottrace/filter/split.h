/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-split: a continuous log becomes shots. */
#ifndef SHOTTRACE_FILTER_SPLIT_H
#define SHOTTRACE_FILTER_SPLIT_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

SHOT_API extern const shot_description shot_split;

#ifdef __cplusplus
}
#endif
#endif
