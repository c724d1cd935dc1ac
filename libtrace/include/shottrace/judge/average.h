/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shots laid over each other. */
#ifndef SHOTTRACE_JUDGE_AVERAGE_H
#define SHOTTRACE_JUDGE_AVERAGE_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

/* shot-average: a filter that hands on one shot for all it took (or one a group): the median of
 * each channel, a pointwise band, and how far each shot was from it.  It holds all shots, on the
 * common grid, until the end of the stream. */
SHOT_API extern const shot_description shot_average;

#ifdef __cplusplus
}
#endif
#endif
