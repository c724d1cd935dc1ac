/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Knees told while the shot runs. */
#ifndef SHOT_DETECT_KNEE_WATCH_H
#define SHOT_DETECT_KNEE_WATCH_H

#include <shottrace/trace/detector.h>

enum { KNEES_PHASES, KNEES_LINEAR, KNEES_LEVEL }; /* models */

struct knees_settings {
    shot_texts channels;
    int model;
    double alarm_rate; /* % */
};

/* Its settings are struct knees_settings; it looks with the model of phases only. */
extern const shot_watch knee_watch;

#endif
