/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pulses of a pulsed pre-wetting. */
#ifndef SHOTTRACE_DETECT_PULSES_H
#define SHOTTRACE_DETECT_PULSES_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

/* shot-pulses: a detector that adds a mark `pulse` for each time that the pump ran before the main
 * rise (docs/pulses.md). */
SHOT_API extern const shot_description shot_pulses;

#ifdef __cplusplus
}
#endif
#endif
