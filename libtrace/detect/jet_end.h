/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When does the puck first hold back the water of a jet? */
#ifndef SHOT_DETECT_JET_END_H
#define SHOT_DETECT_JET_END_H

#include "detect/onset.h"

/* The instant at which the flow through a restrictor begins to be less than the pressure before it
 * would drive freely, with the interval that holds it with the probability `level`: there pressure
 * comes to the puck.  NaN where the log shows no jet, or none that is held back.
 *   pressure   at the pump
 *   flow       of water
 * SHOT_ERR_MEMORY. */
shot_status shot_jet_end(const shot_channel_view *pressure, const shot_channel_view *flow,
                         double level, shot_instant *out);

#endif
