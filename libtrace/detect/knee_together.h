/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Knees with few samples between them, placed together. */
#ifndef SHOT_DETECT_KNEE_TOGETHER_H
#define SHOT_DETECT_KNEE_TOGETHER_H

#include "detect/knee_finder.h"

/* Move those of `knees` [count] whose interval spans samples and that have another one nearby, none
 * past its neighbours; intervals grow to what holds the new place with the probability `level`. */
void shot_knees_together(const shot_channel_view *view, double level, shot_knee *knees,
                         size_t count);

#endif
