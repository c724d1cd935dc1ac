/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A meter that counts over a gate, of which each figure stands in the rows until the next. */
#ifndef SHOT_DETECT_METER_GATE_H
#define SHOT_DETECT_METER_GATE_H

#include "detect/channel_view.h"

/* The gate, s: figures change on an even clock, and stand for it, or twice or three times as long.
 * 0 where they may as well change by chance. */
double shot_meter_gate(const shot_channel_view *view);

/* A copy with a sample for each gate, at the row that tells it first.  The rows before the first
 * change, in which a gate may have begun anywhere, tell nothing.  SHOT_ERR_MEMORY.  Freed with
 * shot_channel_view_free. */
shot_status shot_meter_gate_values(const shot_channel_view *view, double gate,
                                   shot_channel_view *out);

#endif
