/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-resample: a shot on a uniform grid. */
#ifndef SHOTTRACE_FILTER_RESAMPLE_H
#define SHOTTRACE_FILTER_RESAMPLE_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

SHOT_API extern const shot_description shot_resample;

#ifdef __cplusplus
}
#endif
#endif
