/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From a shot to the samples by which surges are judged. */
#ifndef SHOT_DETECT_SURGE_INPUT_H
#define SHOT_DETECT_SURGE_INPUT_H

#include "detect/conductance.h"
#include "detect/phases.h"

/* The samples of a flow meter (`summed` false), a scale or a counter during the brew, with the
 * pressure at the puck beside them.  Spikes and knocks are left out, but not of a counter; samples
 * that come faster than 25 Hz are averaged to that.  SHOT_ERR_MEMORY.  Freed by surge_input_free,
 * also after an error. */
shot_status surge_input_take(const shot_phase_input *input, const shot_channel_view *view,
                             double restriction, bool summed, double from, double to,
                             conductance_data *out);
void surge_input_free(conductance_data *data);

#endif
