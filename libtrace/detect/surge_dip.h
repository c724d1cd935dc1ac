/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Flow that dips while pressure is lowered, and comes back. */
#ifndef SHOT_DETECT_SURGE_DIP_H
#define SHOT_DETECT_SURGE_DIP_H

#include "detect/conductance.h"

/* A meter at the pump shows that less was pumped for a moment, by which the pressure was lowered.
 * What it shows when the pump is back is no loss of resistance, unless it is clearly more than
 * before the fall: so much a bed that relaxes may let through.  A scale does not see the pump. */
bool surge_is_end_of_dip(const conductance_data *data, const conductance_opening *opening);

#endif
