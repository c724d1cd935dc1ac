/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Knees of a gauge whose logger smoothed it. */
#ifndef SHOT_DETECT_KNEE_LAG_H
#define SHOT_DETECT_KNEE_LAG_H

#include "detect/knee_finder.h"

/* Where the noise looks as if the logger smoothed the channel, its knees came earlier than they
 * show: their intervals reach back as far. */
void shot_knees_look_behind_filter(const shot_channel_view *view, shot_knee *knees, size_t count);

#endif
