/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Simulated shots as the source of a chain. */
#ifndef SHOTTRACE_PUCK_SYNTH_SOURCE_H
#define SHOTTRACE_PUCK_SYNTH_SOURCE_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

/* shot-synth: reads nothing, makes shots; with --truth their true events as marks. */
SHOT_API extern const shot_description shot_synth_description;

#ifdef __cplusplus
}
#endif
#endif
