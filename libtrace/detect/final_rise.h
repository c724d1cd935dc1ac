/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The small rise with which a restricted machine comes fully up to pressure. */
#ifndef SHOT_DETECT_FINAL_RISE_H
#define SHOT_DETECT_FINAL_RISE_H

#include "detect/knee_finder.h"

/* The knee of the pressure at which the final rise starts, and the height of the rise; -1 if there
 * is none.  `knees` [count] are those of the pressure at the pump; `flow` is empty where none is
 * logged. */
ptrdiff_t shot_final_rise(const shot_channel_view *pressure, const shot_channel_view *flow,
                          const shot_knee *knees, size_t count, double *height);

/* The same where the flow of water is logged too: out->at is the instant from which the puck holds
 * back the jet (jet_end.h) while the pressure makes its small rise, NaN if the flow shows none, or
 * cannot; the slopes are those of the pressure.  SHOT_ERR_MEMORY. */
shot_status shot_final_rise_in_flow(const shot_channel_view *pressure,
                                    const shot_channel_view *flow, double level, shot_knee *out,
                                    double *height);

#endif
