/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A channel of a stretch, filtered with the wander under which its samples are most likely. */
#ifndef SHOT_DETECT_SURGE_CHANNEL_H
#define SHOT_DETECT_SURGE_CHANNEL_H

#include "detect/conductance_answer.h"

/* Combinations of wander that are tried, each with every size of noise that lasts. */
enum { SURGE_LEVELS = 7, SURGE_SLOPES = 5, SURGE_GAINS = SURGE_LEVELS * SURGE_SLOPES };
enum { SURGE_PLACES = SURGE_GAINS * CONDUCTANCE_LANES };

typedef struct surge_channel {
    conductance_data *data; /* borrowed; figures may be changed between the calls, no more */
    conductance_filter filter;
    conductance_step *steps;
    double *added; /* [n][CONDUCTANCE_LANES] scratch */
    int place;     /* of the filter's wander */

    /* Gains are computed once; where there are many samples the ones not used for longest go. */
    conductance_gains gains[SURGE_GAINS];
    size_t used[SURGE_GAINS]; /* when last; 0: not kept */
    size_t uses, kept, most;
} surge_channel;

/* SHOT_ERR_MEMORY.  Freed by surge_channel_free, also after an error. */
shot_status surge_channel_new(conductance_data *data, surge_channel *out);
void surge_channel_free(surge_channel *channel);

/* Fit the wander, with an opening of unknown size in it (or NULL), so that its likelihood times how
 * likely it is beforehand is highest, and run the filter so.  SHOT_ERR_MEMORY. */
shot_status surge_channel_fit(surge_channel *channel, const conductance_opening *opening);

/* How likely the wander of the fit is beforehand: the logarithm, beside none. */
double surge_channel_beforehand(const surge_channel *channel);

/* By how much the variance of the size of the opening of the fit is larger when the wander is not
 * known than with the most likely one.  SHOT_ERR_MEMORY. */
shot_status surge_channel_spread(surge_channel *channel, const conductance_opening *opening,
                                 double *out);

/* Sums over the samples of what an opening adds to the innovations, over their SD. */
typedef struct surge_shown {
    double squares, fourths; /* of all samples */
    double opening;          /* squares of those while it opens */
    double base; /* variance of the conductance before it, relative, times the square of what its
                    channel has of the squares */
} surge_shown;

/* Add those of a channel, with the best size. */
void surge_channel_add_shown(const surge_channel *channel, const conductance_opening *opening,
                             surge_shown *shown);

/* Send up to CONDUCTANCE_LANES openings through the filter.
 *   room   [n][CONDUCTANCE_LANES] */
conductance_answer surge_channel_answer(const surge_channel *channel,
                                        const conductance_opening *openings, size_t count,
                                        double *room);

/* Weigh them.
 *   out   [CONDUCTANCE_LANES] */
void surge_channel_weigh(const surge_channel *channel, const conductance_opening *openings,
                         size_t count, conductance_evidence *out);

#endif
