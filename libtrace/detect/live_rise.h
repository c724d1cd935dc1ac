/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The start of the main rise, told when full pressure is: no sooner does anything tell it from the
 * rise of a pulse, or of a level at which the puck is held.  The last 20 s are searched as the
 * whole shot is at its end (find_main_rise.c). */
#ifndef SHOT_DETECT_LIVE_RISE_H
#define SHOT_DETECT_LIVE_RISE_H

#include <shottrace/trace/table.h>

#include "detect/live_pump.h"

/* The rise to full pressure at `full`, s, of a puck that was held since `held`, or since the pump
 * last stood; `rest` is the pressure without any.  NaN where it cannot be told.  SHOT_ERR_MEMORY,
 * or what the metadata of the shot are at fault with. */
shot_status live_rise_find(const shot_table *shot, double held, const live_pump *pump, double full,
                           double rest, double *rise, shot_error *error);

#endif
