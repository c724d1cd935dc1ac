/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A weight as if nobody had touched the scale, and until when it can be believed
 * (puck/scale_leaps.h). */
#ifndef SHOT_DETECT_TOUCHED_SCALE_H
#define SHOT_DETECT_TOUCHED_SCALE_H

#include "detect/channel_view.h"

/* Take what hands did out of the weight.  SHOT_ERR_MEMORY. */
shot_status shot_view_untouch(shot_channel_view *weight);

/* When the scale began to hang, s, where it hangs while the stream runs until `until`; infinite
 * where it does not.  SHOT_ERR_MEMORY. */
shot_status shot_view_hangs_from(const shot_channel_view *weight, double until, double *out);

#endif
