/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The instant at which a channel leaves a level, or a line, between samples and with its interval.
 */
#ifndef SHOT_DETECT_ONSET_H
#define SHOT_DETECT_ONSET_H

#include "detect/channel_view.h"

/* A time with its interval; NaN bounds where there is none. */
typedef struct shot_instant {
    double at, low, high;
} shot_instant;

/* The instant of one cause that two channels tell, NaN where one does not: where they agree, each
 * weighs as its interval is short, and the result is as sure as the surer; where they do not, the
 * earlier, since lags and filters make a sign later, and none comes before its cause. */
shot_instant shot_instant_of_both(const shot_instant *a, const shot_instant *b);

/* The same instant, its interval longer by so much on either side. */
shot_instant shot_instant_widened(shot_instant one, double by);

/* The same, when the pressure crosses a level, as told by a gauge behind a hose: `lag` seconds
 * late; where that is not known (NaN), less than a tenth of a second (common practice, no source).
 */
shot_instant shot_instant_shown_late(shot_instant one, double lag);

/* The same, but not before `time`, which came first; not after `time`, which came later. */
shot_instant shot_instant_not_before(shot_instant one, double time);
shot_instant shot_instant_not_after(shot_instant one, double time);

/* What no fit to samples knows of the instant of an edge: how a sensor answers, and what happened
 * within the time between two samples.  A gauge or meter answers within about a hundredth of a
 * second (common practice, no source); half the time between two samples, since an edge that is
 * rounded may leave its first sample in the noise. */
double shot_edge_slack(const shot_channel_view *view);

/* Where the broken line through the samples of from..to bends: the least-squares place of one
 * break, with its interval (segmented_line.h), never narrower than the time between two samples
 * lets it be where the bend is sharper than the sampling.  Falls back on `guess` with the interval
 * of one sample on either side where the samples do not allow it.  SHOT_ERR_MEMORY. */
shot_status shot_onset_break(const shot_channel_view *view, double from, double to, double guess,
                             shot_instant *out);

/* Where, between from and to, the slope falls most from the second and a half before to the second
 * after: the time of that sample; NaN with too few samples. */
double shot_onset_steepest_break(const shot_channel_view *view, double from, double to);

/* Where the channel, between from and to, first crosses `level` upwards (sign 1) or downwards (-1)
 * and stays beyond it for the next `hold` seconds in the mean; by the line through the samples
 * around the crossing.  `at` is NaN if it never does. */
shot_instant shot_onset_crossing(const shot_channel_view *view, double from, double to,
                                 double level, int sign, double hold);

/* The mean of the samples in from..to; NaN if there are none. */
double shot_view_mean(const shot_channel_view *view, double from, double to);

/* Deep copy, and one whose values are the means of the samples within `half` seconds of each (of
 * one sample at least).  SHOT_ERR_MEMORY.  Freed with shot_channel_view_free. */
shot_status shot_view_copy(const shot_channel_view *view, shot_channel_view *out);
shot_status shot_view_smooth(const shot_channel_view *view, double half, shot_channel_view *out);

#endif
