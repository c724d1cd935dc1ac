/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Surges told while the shot runs. */
#ifndef SHOT_DETECT_SURGE_WATCH_H
#define SHOT_DETECT_SURGE_WATCH_H

#include <shottrace/trace/detector.h>

#include "detect/channel_view.h"
#include "detect/surge_finder.h"

struct surges_settings {
    double alarm_rate; /* % */
};

/* Its settings are struct surges_settings. */
extern const shot_watch surge_watch;

/* s after its onset in which a surge is told. */
static const double surge_news = 1.5;

/* The surge that a watch would tell with the first `rows` rows of the shot, with its loss until
 * then: *found is 0 or 1.
 *   out   freed by the caller
 * SHOT_ERR_MEMORY. */
shot_status surge_watch_until(const shot_table *shot, size_t rows, double alarm_rate, surge **out,
                              size_t *found, shot_error *error);

/* When pressure begins to be lowered, in first..last; NaN where it is not. */
double surge_watch_lowered(const shot_channel_view *pressure, double first, double last);

#endif
