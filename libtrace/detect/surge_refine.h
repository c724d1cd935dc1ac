/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The opening and the wander that are most likely together. */
#ifndef SHOT_DETECT_SURGE_REFINE_H
#define SHOT_DETECT_SURGE_REFINE_H

#include "detect/surge_scan.h"

/* From a first guess to the onset, shape and drain that explain the samples best, with the wander
 * fitted beside them; the filters are left as fitted with it.  SHOT_ERR_MEMORY. */
shot_status surge_refine(surge_scan *scan, surge_candidate *candidate);

/* The highest log-likelihood with a loss that takes longer than a surge, near `candidate`.  The
 * filters must be fitted again before they are used.  SHOT_ERR_MEMORY. */
shot_status surge_refine_slow(surge_scan *scan, const surge_candidate *candidate, double *out);

#endif
