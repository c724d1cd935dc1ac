/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When is an opening of the puck a surge? */
#ifndef SHOT_DETECT_SURGE_RULES_H
#define SHOT_DETECT_SURGE_RULES_H

#include <stdbool.h>

#include "detect/surge_drive.h"
#include "detect/surge_finder.h"

static const double surge_least_loss = 0.05; /* the contract's 5 % */
static const double surge_shortly = 0.7;     /* s over which flow before and after is averaged */
static const double surge_around = 0.35;     /* s over which both are, close to an edge */
static const double surge_steady = 1.02;     /* pressure after over before: not raised */
static const double surge_unloaded = 0.5;    /* bar; less is no load */

typedef struct surge_rules {
    const conductance_data *data; /* of the first channel; borrowed */
    const surge_drive *drive;     /* of its samples; borrowed */
    double from, to;              /* s: onsets that are looked for, but for a little */
    bool running;                 /* while the shot runs all that follows is still to come */
} surge_rules;

/* What flows in the last second before t in which a sample lies, ml or g a second, and its standard
 * error. */
double surge_flow_until(const conductance_data *data, double t, double *se);

/* While the shot runs, an opening is seen as far as it came. */
conductance_opening surge_rules_seen(const surge_rules *rules, const conductance_opening *opening);

/* What is seen of an opening may be a surge, by what the log shows around it: water flows before,
 * the pressure neither rises nor is changed on purpose, and the puck gives way in the end. */
bool surge_rules_take(const surge_rules *rules, const conductance_opening *opening);

/* A surge that was measured is still one by its figures. */
bool surge_rules_keep(const surge_rules *rules, const surge *one);

#endif
