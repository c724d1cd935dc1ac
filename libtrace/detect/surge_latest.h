/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An opening in the last moments of a running shot: how much likelier it makes what was seen. */
#ifndef SHOT_DETECT_SURGE_LATEST_H
#define SHOT_DETECT_SURGE_LATEST_H

#include "detect/conductance.h"

typedef struct surge_latest {
    double evidence;              /* the logarithm of a Bayes factor; -INFINITY: none can be told */
    conductance_opening opening;  /* the likeliest */
    double gain;                  /* of conductance by it, relative, in the mean over its sizes */
    double onset_low, onset_high; /* s: the 2.5 and 97.5 % quantiles of the onset */
    double lost, lost_se;         /* of resistance, as a share, until the last sample */
    double whole_high;            /* the 97.5 % quantile of what it takes in all */
} surge_latest;

/* The mean likelihood of the channels with an opening that begins between `from` and `to` (no more
 * than 2 s apart), over that without: over all onsets, lengths and sizes of an opening, and over
 * all wander and noise that lasts.  `age` of the samples is set.  SHOT_ERR_MEMORY. */
shot_status surge_latest_find(conductance_data *const *channels, size_t count, double from,
                              double to, surge_latest *out);

#endif
