/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The small rise with which a restricted machine comes fully up to pressure. */
#ifndef SHOT_DETECT_FINAL_RISE_H
#define SHOT_DETECT_FINAL_RISE_H

#include "detect/knee_finder.h"

/* The knee of the pressure at which the final rise starts, and the height of the rise; -1 if there
 * is none.  `knees` [count] are those of the pressure at the pump. */
ptrdiff_t shot_final_rise(const shot_channel_view *pressure, const shot_knee *knees, size_t count,
                          double *height);

#endif
