/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the cup gained of what the scale showed: a cup that is changed, tared or loaded while the
 * stream runs, one that is taken off after it, and a scale that falls silent are no beverage. */
#ifndef SHOT_JUDGE_CUP_GAIN_H
#define SHOT_JUDGE_CUP_GAIN_H

#include <shottrace/status.h>
#include <shottrace/trace/table.h>
#include <shottrace/trace/text.h>

/* Times in s; NaN where it was not so. */
typedef struct cup_gain {
    double *weight; /* owned [rows]; missing where it was touched.  NULL without a scale */
    double water;   /* when it came */
    double before;  /* g that the scale showed before the water, taken off; 0 if hardly any */
    double touched; /* when a hand first did something to it in the stream */
    double hands;   /* g that hands added by then, taken off */
    double missed;  /* g that ran meanwhile, as the stream ran before and after; taken in */
    double silent;  /* from when on the scale shows no more of a stream that runs on */
    double left;    /* when the cup was touched after the stream; what came later is left out */
} cup_gain;

/* When the water came and when it was shut off; NaN where not known. */
typedef struct cup_times {
    double water, stop;
} cup_times;

/*   flow  into the basket [rows], or NULL
 * SHOT_ERR_MEMORY, and nothing to free. */
shot_status cup_gain_find(const shot_table *shot, const double *flow, cup_times when,
                          cup_gain *out);

/* Why the beverage is not what the scale showed at the end of the log, into an empty text; nothing
 * where it is. */
shot_status cup_gain_say(const cup_gain *gain, shot_text *words);

void cup_gain_free(cup_gain *gain);

#endif
