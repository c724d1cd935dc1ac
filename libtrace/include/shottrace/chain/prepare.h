/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Detectors for shots that none has seen: what a comparison of shots needs to know of each of them,
 * it can ask for itself. */
#ifndef SHOTTRACE_CHAIN_PREPARE_H
#define SHOTTRACE_CHAIN_PREPARE_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

/* A sink that hands on shots with findings as they are, and sends others through the detectors
 * first (segment, knees, surges, pulses).  A shot has findings if it bears a history line of
 * shot-segment, or a mark of a phase that is no person's (shot-tag).  It keeps one shot.  `next` is
 * borrowed.  For shot_chain_ends.prepare.  *out is freed with shot_sink_free, and NULL after
 * SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_prepare_new(shot_sink *next, const shot_notice *notice, shot_sink **out,
                                      shot_error *error);

#ifdef __cplusplus
}
#endif
#endif
