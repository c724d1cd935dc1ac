/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Peaks and troughs of a channel, by which it is told when the pump stands. */
#ifndef SHOT_DETECT_PUMP_DIPS_H
#define SHOT_DETECT_PUMP_DIPS_H

#include "detect/onset.h"

/* s of a pulse or a gap, with a little for a log of 4 Hz; common practice, no source. */
static const double pump_shortest = 0.52;

/* A channel falls from a peak to a trough and rises again. */
typedef struct pump_dip {
    size_t peak, trough, end; /* samples: last near the peak, lowest, first near the next peak */
} pump_dip;

/* The next dip from sample *at on, before sample `end`, that is deeper than `depth` on either side;
 * false at the end.  Peaks and troughs by hysteresis: a turn counts when it has gone back by
 * `depth`. */
bool pump_dip_next(const shot_channel_view *view, size_t end, double depth, size_t *at,
                   pump_dip *out);

/* The highest and the lowest value in from..to; infinite where there are no samples. */
double pump_highest(const shot_channel_view *view, double from, double to);
double pump_lowest(const shot_channel_view *view, double from, double to);

/* How far the noise of a channel reaches from its lowest to its highest sample. */
double pump_noise_range(const shot_channel_view *view);

/* The channel without a pump's strokes: means over a tenth of a second, or the samples of a slower
 * log; a lone stray one gets the line between its neighbours first.  SHOT_ERR_MEMORY.  Freed
 * with shot_channel_view_free. */
shot_status pump_stroke_means(const shot_channel_view *view, shot_channel_view *out);

#endif
