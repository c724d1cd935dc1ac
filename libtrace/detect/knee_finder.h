/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The knees of one channel. */
#ifndef SHOT_DETECT_KNEE_FINDER_H
#define SHOT_DETECT_KNEE_FINDER_H

#include "detect/channel_view.h"

typedef struct shot_knee {
    double at, low, high;           /* s; NaN bounds where the data give none */
    double level_here;              /* the channel's value there */
    double before, after;           /* slopes */
    double change_low, change_high; /* of after - before */
} shot_knee;

/* Changes of slope that move the channel by less than this part of its range in a second are not
 * worth a mark: nobody could see them on a needle.  Common practice, no source. */
extern const double shot_knee_least; /* 1/s */

/* Can squares of the values, and squares of those, be numbers?  Sensors have no others in a unit that
 * fits them, and a search for the least of sums that are all 0 or infinite does not end. */
bool shot_knee_squares_hold(const shot_channel_view *view);

/* Where squares hold: all knees of the channel, in order; *out is freed with free().  `level` is that of the intervals.
 * SHOT_ERR_MEMORY. */
shot_status shot_knees_find(const shot_channel_view *view, double alarm_rate, double level,
                            shot_knee **out, size_t *count);

/* The joints of the best description of the channel by straight pieces, likewise
 * (slope_partition.h). Too few samples for any joint are none. */
shot_status shot_knees_linear(const shot_channel_view *view, double alarm_rate, double level,
                              shot_knee **out, size_t *count);

/* The steps of the best description by constant levels, likewise (level_change.h): `before` and
 * `after` are levels, `level_here` is their mean. */
shot_status shot_knees_level(const shot_channel_view *view, double alarm_rate, double level,
                             shot_knee **out, size_t *count);

#endif
