/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-align: delays between channels, and the origin of time. */
#ifndef SHOTTRACE_FILTER_ALIGN_H
#define SHOTTRACE_FILTER_ALIGN_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

SHOT_API extern const shot_description shot_align;

#ifdef __cplusplus
}
#endif
#endif
