/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Surges told while the shot runs. */
#ifndef SHOT_DETECT_SURGE_WATCH_H
#define SHOT_DETECT_SURGE_WATCH_H

#include <shottrace/trace/detector.h>

struct surges_settings {
    double alarm_rate; /* % */
};

/* Its settings are struct surges_settings. */
extern const shot_watch surge_watch;

#endif
