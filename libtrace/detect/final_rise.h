/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The small rise with which a restricted machine comes fully up to pressure. */
#ifndef SHOT_DETECT_FINAL_RISE_H
#define SHOT_DETECT_FINAL_RISE_H

#include "detect/knee_finder.h"

/* The knee of the pressure at which the final rise starts, and the height of the rise; -1 if there
 * is none.  `knees` [count] are those of the pressure at the pump. */
ptrdiff_t shot_final_rise(const shot_channel_view *pressure, const shot_knee *knees, size_t count,
                          double *height);

/* The same where the flow of water is logged too: the place is that of the knee at which the flow
 * begins to fall while the pressure makes its small rise.  False if the flow shows none, or cannot.
 *   flow     the flow of water in its unit, `knees` [count] its knees
 *   out      the knee as the pressure has it: the place of the flow's, the slopes of the pressure
 */
bool shot_final_rise_in_flow(const shot_channel_view *pressure, const shot_channel_view *flow,
                             const shot_knee *knees, size_t count, double level, shot_knee *out,
                             double *height);

#endif
