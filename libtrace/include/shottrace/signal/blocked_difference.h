/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The difference of two groups that were measured in blocks (days), in a known order: what a block
 * does to all of its values, and a drift over the order within the blocks, is not in it. */
#ifndef SHOTTRACE_SIGNAL_BLOCKED_DIFFERENCE_H
#define SHOTTRACE_SIGNAL_BLOCKED_DIFFERENCE_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/signal/two_sample.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_blocked_difference {
    shot_t_test test; /* of the first group less the second */
    double sd;        /* scatter of single values that block, group and drift leave */
    size_t blocks;    /* with a value */
    double within;    /* share of what the values tell of the difference that lies within blocks: 1
                         where each has as many of both, 0 where each has one group only */
    bool drift;       /* a drift was allowed for; false where the order is that of the groups */
} shot_blocked_difference;

/* Least squares of y on the group, a level for each block, and one slope over the order.
 *   y       missing values (NaN) are left out [n]
 *   second  true for the members of the second group [n]
 *   block   which of `blocks` blocks, from 0; NULL: all in one [n]
 *   order   place or time, in any unit; NULL: no drift is looked for [n]
 *   level   of the interval, 0 < level < 1
 * The scatter is taken as the same in both groups.  Where the order cannot be told from the groups
 * (in each block the first one first, one of each) no drift is allowed for.
 * Returns SHOT_OK; SHOT_ERR_RANGE for a wrong level or block; SHOT_ERR_SINGULAR where no block has
 * both groups, or nothing is left to judge the scatter by; SHOT_ERR_MEMORY.  *out is untouched on
 * failure.
 * Sources: analysis of covariance in randomised blocks, e.g. Snedecor & Cochran 1989, 'Statistical
 * Methods', 8th ed., ch. 14 and 18; block levels by centring: Frisch & Waugh 1933, Econometrica
 * 1:387-401. */
SHOT_API shot_status shot_blocked_difference_find(const double *y, const bool *second,
                                                  const size_t *block, size_t blocks,
                                                  const double *order, size_t n, double level,
                                                  shot_blocked_difference *out);

#ifdef __cplusplus
}
#endif
#endif
