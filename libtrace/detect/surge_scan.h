/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A matched filter for steps of conductance, slid over a brew at several lengths, and the height
 * that noise alone reaches too seldom to matter. */
#ifndef SHOT_DETECT_SURGE_SCAN_H
#define SHOT_DETECT_SURGE_SCAN_H

#include <stdbool.h>

#include "detect/conductance.h"

typedef struct surge_scan {
    conductance_data *const *channels;
    size_t channel_count;
    double from, to; /* of the brew, s */
    double *work;
} surge_scan;

/* What the channels together say of one step. */
typedef struct surge_evidence {
    double gain, gain_se; /* step over base, weighted means over the channels */
    double chi2;          /* sum of rss / sd^2 */
    double before, after; /* s, the shorter of the channels */
    size_t n;
} surge_evidence;

/* Evidence for one step; SHOT_ERR_SINGULAR where no channel suffices. */
shot_status surge_weigh(const surge_scan *scan, const conductance_step *step, surge_evidence *out);

typedef struct surge_candidate {
    conductance_step step;
    double score; /* gain over its standard error, that enlarged to what the brew shows */
} surge_candidate;

/* Slide all filters over the brew.  *best gets the highest candidate that `accept` takes;
 * its score is NaN if there is none above the threshold. */
typedef bool (*surge_accept)(const void *user, const conductance_step *step,
                             const surge_evidence *evidence);
shot_status surge_scan_best(const surge_scan *scan, double alarm_rate, surge_accept accept,
                            const void *user, surge_candidate *best);

#endif
