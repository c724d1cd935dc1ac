/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What relaxes behind a knee is no second one. */
#ifndef SHOT_DETECT_KNEE_TAIL_H
#define SHOT_DETECT_KNEE_TAIL_H

#include "detect/knee_finder.h"

/* Take out of the `*count` knees, in order, those that a relaxation behind the one before describes
 * better.  SHOT_ERR_MEMORY. */
shot_status shot_knees_drop_tails(const shot_channel_view *view, shot_knee *knees, size_t *count);

#endif
