/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stretches in which a log has no rows. */
#ifndef SHOT_DETECT_LOG_HOLES_H
#define SHOT_DETECT_LOG_HOLES_H

#include "detect/phases.h"

/* Is there a hole of a channel between sample i, not the first, and the one before: more than
 * SHOT_GAP_FACTOR usual spacings? */
bool shot_hole_before(const shot_channel_view *view, size_t i);

/* The same instant; where its interval reaches into a stretch without rows of pressure and flow, it
 * holds all of it, since nobody saw what happened there. */
shot_instant shot_over_holes(const shot_phase_input *input, shot_instant one);

#endif
