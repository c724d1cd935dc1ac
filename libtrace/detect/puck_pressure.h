/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The pressure at the puck, which a gauge at the pump does not show. */
#ifndef SHOT_DETECT_PUCK_PRESSURE_H
#define SHOT_DETECT_PUCK_PRESSURE_H

#include "detect/channel_view.h"

/* *out gets K of the restrictor between gauge and puck, pressure lost = K flow^2, in bar.s2/ml2; 0
 * where the log shows none.  `rest` is the pressure without any; `before`: the log says that the
 * gauge sits before a restrictor, if there is one, so that less certain signs count.  *until (may
 * be NULL) gets the time up to which the puck has no pressure, so that all is lost in the
 * restrictor. SHOT_ERR_MEMORY. */
shot_status shot_restriction(const shot_channel_view *pressure, const shot_channel_view *flow,
                             double rest, bool before, double *until, double *out);

/* A copy of `pressure` with the loss in the restrictor taken off, by a flow that is shown `lag`
 * seconds late.  SHOT_ERR_MEMORY.  Freed with shot_channel_view_free. */
shot_status shot_puck_pressure(const shot_channel_view *pressure, const shot_channel_view *flow,
                               double restriction, double lag, double rest, shot_channel_view *out);

#endif
