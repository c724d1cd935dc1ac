/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A sensor slower than its logger: the same figure stands in several rows, and tells but once. */
#ifndef SHOT_DETECT_FRESH_VALUES_H
#define SHOT_DETECT_FRESH_VALUES_H

#include "detect/channel_view.h"

/* A copy with the first sample of each figure, and the noise that these show, where the channel
 * looks held (signal/held_values.h).  Else a plain copy.  SHOT_ERR_MEMORY.  Freed with
 * shot_channel_view_free. */
shot_status shot_view_fresh(const shot_channel_view *view, shot_channel_view *out);

/* The least time for which a figure stands, s, where hardly one stands in fewer than three rows:
 * the sensor counts for so long, or has news as seldom; 1.2 s at most.  0 where figures come and
 * go. */
double shot_view_least_stand(const shot_channel_view *view);

#endif
