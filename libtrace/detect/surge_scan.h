/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Openings slid over a stretch at several lengths, and the height that noise alone reaches too
 * seldom to matter. */
#ifndef SHOT_DETECT_SURGE_SCAN_H
#define SHOT_DETECT_SURGE_SCAN_H

#include <stdbool.h>

#include "detect/surge_channel.h"

/* The channels that show one stretch of the shot. */
typedef struct surge_scan {
    surge_channel *channels; /* [channel_count] */
    size_t channel_count;
    double from, to; /* s: onsets that are tried */
    bool closes;     /* sudden falls of flow are looked for too: pressure may be lowered, unseen */
} surge_scan;

/* SHOT_ERR_MEMORY.  The samples are borrowed.  Freed by surge_scan_free, also after an error. */
shot_status surge_scan_new(conductance_data *const *channels, size_t count, double from, double to,
                           surge_scan *out);
void surge_scan_free(surge_scan *scan);

/* The time around an instant that no channel shows, s: from its last sample before, to its first
 * from there on; infinite without. */
typedef struct surge_gap {
    double from, to;
} surge_gap;

surge_gap surge_scan_gap(const surge_scan *scan, double at);

/* What the channels together say of one opening. */
typedef struct surge_evidence {
    double gain, gain_se; /* of conductance over what it was, weighted over the channels */
    double score;         /* gain over its standard error */
} surge_evidence;

surge_evidence surge_together(const conductance_evidence *each, size_t count);

/* Fit the wander in each channel, with an opening in it or without (NULL).  SHOT_ERR_MEMORY. */
shot_status surge_scan_fit(surge_scan *scan, const conductance_opening *opening);

/* What all channels say of up to CONDUCTANCE_LANES openings with the same onset and drain.
 *   out   [count] */
void surge_scan_weigh(const surge_scan *scan, const conductance_opening *openings, size_t count,
                      surge_evidence *out);

typedef struct surge_candidate {
    conductance_opening opening;
    surge_evidence evidence;
} surge_candidate;

/* The log-likelihood of all channels, the filters as fitted and their wander as likely beforehand,
 * with an opening whose size has that sign (or is 0). */
double surge_scan_likelihood_with(const surge_scan *scan, const conductance_opening *opening,
                                  double sign);

/* May a flow meter count over a gate?  Then most of its noise lasts. */
bool surge_scan_counts(const surge_scan *scan);

/* Is one of the channels a scale, onto which the basket drains? */
bool surge_scan_drains(const surge_scan *scan);

/* The gain of the log-likelihood by openings as a standard score. */
double surge_scan_score(const surge_scan *scan, double gain);

/* An opening, and how much of it each channel shows. */
typedef struct surge_part {
    surge_candidate candidate;
    double size[2]; /* of conductance */
} surge_part;

/* s between onsets; openings farther apart hardly hide each other: two take 2 s, with 3 s to
 * settle.
 */
static const double surge_beside = 8;

enum { SURGE_AT_ONCE = 12 };

/* Slide all openings over the stretch.  The highest candidate above the threshold with a gain of at
 * least `least_gain` (or, where it may close, a loss) that `accept` takes, and those far from
 * higher ones; or two near each other that are likelier than any single one, in order of time.
 *   out     [SURGE_AT_ONCE]
 *   found   how many; 0: there is none */
typedef bool (*surge_accept)(const void *user, const conductance_opening *opening);
shot_status surge_scan_best(surge_scan *scan, double alarm_rate, double least_gain,
                            surge_accept accept, const void *user, surge_part *out, size_t *found);

#endif
