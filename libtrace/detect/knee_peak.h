/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the change of slope is greatest, whatever the curve. */
#ifndef SHOT_DETECT_KNEE_PEAK_H
#define SHOT_DETECT_KNEE_PEAK_H

#include "detect/channel_view.h"
#include "signal/line_sums.h"

/* The sample within `scale` of `at` at which the slopes over `scale` before and behind differ most,
 * in the direction of `sign`; `at` itself where noise does not tell the two changes apart with the
 * probability `level`, or the samples are too few.  `sums` are line_sums_new over the view. */
double shot_knee_peak(const shot_channel_view *view, const line_sums *sums, double at, double scale,
                      double sign, double level);

#endif
