/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-smooth: channels without their noise, by a local polynomial or a running median. */
#ifndef SHOTTRACE_FILTER_SMOOTH_H
#define SHOTTRACE_FILTER_SMOOTH_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

SHOT_API extern const shot_description shot_smooth;

#ifdef __cplusplus
}
#endif
#endif
