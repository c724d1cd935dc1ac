/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether a rise of the flow is more than the steps in which a meter shows it. */
#ifndef SHOT_DETECT_SURGE_RESOLVED_H
#define SHOT_DETECT_SURGE_RESOLVED_H

#include "detect/surge_finder.h"
#include "detect/surge_scan.h"

/* Do the figures of the first channel resolve a surge, or a scale beside it?
 *   running   the shot still runs, so that what follows is not known
 *   flow      before the surge */
bool surge_is_resolved(const surge_scan *scan, bool running, double flow, const surge *one);

#endif
