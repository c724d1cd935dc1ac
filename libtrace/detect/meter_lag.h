/* SPDX-License-Identifier: GPL-3.0-or-later */
/* By how much a flow meter follows the flow late: one that counts pulses shows the mean of its
 * gate.
 *
 * While a basket fills through a restrictor, pressure before it and flow through it tell the same,
 * flow = c sqrt(pressure) (the loss of an orifice goes with the square of the flow, ISO 5167-1),
 * and what is left between the two is the meter's. */
#ifndef SHOT_DETECT_METER_LAG_H
#define SHOT_DETECT_METER_LAG_H

#include "detect/channel_view.h"
#include "detect/onset.h"

/* The lag, in s, with which flow follows c sqrt(pressure - rest) best up to `until`, by least
 * squares over the lag and c; `still` is what the meter shows without flow.  0 where the flow has
 * fewer than three samples there, and where a valve opened at once to a line that stood under
 * pressure: that shows before any water runs. */
double shot_meter_lag(const shot_channel_view *pressure, const shot_channel_view *flow, double rest,
                      double still, double until);

/* The lag, in s, that the meter's own stop shows: what it counts once the pump is `off` went in
 * before, so that this volume over the flow of the last second is the mean time by which it is
 * late (the first moment of its impulse response, whatever its shape).  0 where it is less than the
 * doubt about the stop and half a row, where the log ends, and without flow. */
double shot_meter_lag_at_stop(const shot_channel_view *flow, shot_instant off);

#endif
