/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-diff: derivatives of channels of any order, on even and uneven times. */
#ifndef SHOTTRACE_FILTER_DIFF_H
#define SHOTTRACE_FILTER_DIFF_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

SHOT_API extern const shot_description shot_diff;

#ifdef __cplusplus
}
#endif
#endif
