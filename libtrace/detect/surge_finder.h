/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sudden losses of hydraulic resistance in a brew. */
#ifndef SHOT_DETECT_SURGE_FINDER_H
#define SHOT_DETECT_SURGE_FINDER_H

#include "detect/surge_drive.h"

typedef struct surge {
    double from, from_low, from_high; /* s */
    double to, to_low, to_high;       /* s */
    double loss, loss_low, loss_high; /* of resistance, as a share */
    double flow_rise;                 /* ml/s or g/s; NaN where it is not above its noise */
    double pressure_fall;             /* bar; the same */
    double score;                     /* the gain of conductance in standard errors */
    double sooner; /* logarithm of how much likelier it takes no longer than a surge than longer */
    bool eased;    /* the pressure was lowered while it opened: it is told until then */
} surge;

/* s in which a bed settles after its load fell, whether that was on purpose or by a surge; common
 * practice, no source. */
static const double surge_relaxing = 3;

/* What is looked for. */
typedef struct surge_search {
    double from, to;   /* s: onsets lie between these; -INFINITY to INFINITY for any */
    bool running;      /* while the shot runs: no more than one surge is found; its loss is that
                          until the last sample, and there it ends */
    double alarm_rate; /* how often noise alone may look like one: a brew, or, while it runs, at one
                          instant */
    double level;      /* of the intervals */
} surge_search;

/* The surges in up to two channels that show the same brew (a flow meter and a scale), in order of
 * time.  What is taken out of the figures is not put back.
 *   drive   of the samples of the first; the age of the load is set in all
 *   out     freed by the caller
 * The time goes with the samples times the surges.  SHOT_ERR_MEMORY. */
shot_status surges_find_near(conductance_data *const *channels, size_t count,
                             const surge_drive *drive, const surge_search *search, surge **out,
                             size_t *found);

#endif
