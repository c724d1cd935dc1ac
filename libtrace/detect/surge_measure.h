/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Onset, end and size of a surge, with intervals. */
#ifndef SHOT_DETECT_SURGE_MEASURE_H
#define SHOT_DETECT_SURGE_MEASURE_H

#include "detect/surge_finder.h"
#include "detect/surge_scan.h"

/* Root mean square of u - u^2, by which an even and a sharp opening differ, as a share of their
 * height: 1 / sqrt(30). */
static const double surge_misfit = 0.1826;

/* Measure the surge near `around`; the filters of `scan` are left as fitted with it, with noise as
 * the intervals need it.
 *   level   of the intervals
 *   out     loss is NaN where nothing opens
 * SHOT_ERR_MEMORY. */
shot_status surge_measure(surge_scan *scan, const conductance_opening *around, double level,
                          surge *out);

#endif
