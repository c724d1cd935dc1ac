/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A counter of the water as detectors look at it. */
#ifndef SHOT_DETECT_COUNTED_WATER_H
#define SHOT_DETECT_COUNTED_WATER_H

#include "detect/channel_view.h"
#include "detect/onset.h"

/* *water gets what the counter first showed, and the counts, each at the time at which it came,
 * with the noise that is left on them; *flow the slope of the counter, half-way between rows: it
 * tells something new as often as a count comes, which is its spacing.  SHOT_ERR_SINGULAR without
 * five counts; SHOT_ERR_MEMORY.  Freed with shot_channel_view_free, also after an error. */
shot_status shot_counted_views(const shot_table *shot, shot_channel_view *water,
                               shot_channel_view *flow);

/* When water came in whose flow shows at about `about`: between the row of the first count from
 * then on and the time of one count before it, of a flow that grows evenly from nothing. */
shot_instant shot_counted_onset(const shot_channel_view *water, double about);

#endif
