/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Repeated and disordered times, spikes, gaps, sensor zero. */
#ifndef SHOTTRACE_FILTER_CLEAN_H
#define SHOTTRACE_FILTER_CLEAN_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

/* shot-clean: a filter that accepts times that repeat or fall and hands on times that rise. */
SHOT_API extern const shot_description shot_clean;

#ifdef __cplusplus
}
#endif
#endif
