/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sudden losses of hydraulic resistance in a brew. */
#ifndef SHOT_DETECT_SURGE_FINDER_H
#define SHOT_DETECT_SURGE_FINDER_H

#include "detect/conductance.h"

typedef struct surge {
    double from, from_low, from_high; /* s */
    double to, to_low, to_high;       /* s */
    double loss, loss_low, loss_high; /* of resistance, as a share */
    double flow_rise;                 /* ml/s or g/s */
    double score;                     /* the gain of conductance in standard errors */
} surge;

/* The surges in up to two channels that show the same brew (a flow meter and a scale), in order of
 * time.
 *   since        -INFINITY for a whole stretch; else, while the shot runs, onsets before it are not
 *                looked for, the samples before it tell wander and noise, and no more than one
 * surge is found, without intervals alarm_rate   how often noise alone may look like one, a brew
 *   level        of the intervals
 *   out          freed by the caller
 * SHOT_ERR_MEMORY. */
shot_status surges_find(conductance_data *const *channels, size_t count, double since,
                        double alarm_rate, double level, surge **out, size_t *found);

#endif
