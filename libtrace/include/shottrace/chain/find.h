/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The usual way from the samples of a shot to what is in them: shot-find. */
#ifndef SHOTTRACE_CHAIN_FIND_H
#define SHOTTRACE_CHAIN_FIND_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Stands for shot-clean and the detectors behind it (shot_description.parts). */
SHOT_API extern const shot_description shot_find;

#ifdef __cplusplus
}
#endif
#endif
