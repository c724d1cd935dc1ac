/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A surge that was told while the shot ran, and for which the pressure was eased off. */
#ifndef SHOT_DETECT_SURGE_OBEYED_H
#define SHOT_DETECT_SURGE_OBEYED_H

#include <stdbool.h>

#include <shottrace/trace/table.h>

#include "detect/channel_view.h"
#include "detect/surge_finder.h"

/* What the rows up to the lowering of the pressure show of a surge that was told at `onset`: they
 * decide, since behind it flow and pressure are what the program made of them.
 *   last      s: no pressure that is lowered behind it counts
 *   lowered   s: when the pressure was lowered; NaN: it was not, and nothing is found
 * SHOT_ERR_MEMORY. */
shot_status surge_obeyed_find(const shot_table *shot, const shot_channel_view *pressure,
                              double onset, double last, double alarm_rate, surge *out, bool *found,
                              double *lowered, shot_error *error);

#endif
