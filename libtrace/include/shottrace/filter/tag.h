/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-tag: metadata and hand-made marks onto shots. */
#ifndef SHOTTRACE_FILTER_TAG_H
#define SHOTTRACE_FILTER_TAG_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

SHOT_API extern const shot_description shot_tag;

#ifdef __cplusplus
}
#endif
#endif
