/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the breaks of a continuous broken line must lie for the least residual sum of squares:
 * the search behind segmented_line. */
#ifndef SHOT_SIGNAL_LINE_SEARCH_H
#define SHOT_SIGNAL_LINE_SEARCH_H

#include <stdint.h>

#include "signal/line_sums.h"

#define LINE_SEARCH_NONE SIZE_MAX

/* A descent has arrived where the next cost is not below this part of the last. */
#define LINE_SEARCH_ENOUGH (1 - 1e-13)

typedef struct line_search {
    const line_sums *sums; /* borrowed */
    size_t capacity;       /* breaks wanted */
    size_t count;          /* breaks placed so far */
    size_t min_samples;    /* in each piece */
    double *best;          /* [capacity] places found, on the clock of `sums` */
    double best_cost;
    double *knot, *value; /* [capacity + 2] knots of the last cost, and the fit there */
    size_t *cut;          /* [capacity + 2] samples before each knot of the last cost */
    double *work;         /* [2 (capacity + 2)] */
    double *trial, *step, *profile, *kept; /* [capacity] */
    line_cost *beyond;                     /* [capacity + 2] for line_corner */
} line_search;

shot_status line_search_new(const line_sums *sums, size_t count, size_t min_samples,
                            line_search **out);
void line_search_free(line_search *search);

/* Residual sum of squares with breaks at place[0..count-1]; infinite where they do not rise, leave
 * a piece with fewer than min_samples samples, or do not fix the fit.  Sets knot, cut and value. */
double line_search_cost(line_search *search, const double *place);

/* Descend from `count` <= capacity starts (times of the caller's clock) into `best`.
 * SHOT_ERR_SINGULAR if no placing near them leaves enough samples in each piece. */
shot_status line_search_from(line_search *search, const double *starts, size_t count);

/* Search the whole span into `best`. */
shot_status line_search_whole(line_search *search);

/* Widen low and high from best[j] to where the cost, the other breaks being fitted anew, exceeds
 * the least by `allowance`, or to the ends of the data.  `scale` is a first guess of the distance,
 * 0 if unknown. */
void line_search_profile(line_search *search, size_t j, double allowance, double scale, double *low,
                         double *high);

#endif
