/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The best places of a penalised number of changes of level, in time that hardly grows faster than
 * the samples, whether there are many changes or none.
 *
 * Source.  Maidstone, Hocking, Rigaill & Fearnhead 2017, 'On optimal multiple changepoint
 * algorithms for large data', Stat. Comput. 27:519-533, section 5: of the last levels that may
 * follow the candidate breaks, each break keeps those for which it is the best.  A break that has
 * none left is never the best again; that takes away all that PELT takes away (theorem 6.1
 * there), and most of what it must keep where nothing changes. */
#ifndef SHOT_SIGNAL_LEVEL_SEARCH_H
#define SHOT_SIGNAL_LEVEL_SEARCH_H

#include <stddef.h>

#include <shottrace/status.h>

/* last[t] = the last break in the best partition of the first t samples, 0 where it has none, for
 * t >= least.
 *   sum, power   running sums of the samples about some centre, and of their squares    [n + 1]
 *   penalty      price of a break, > 0
 *   least        least number of samples on each level, >= 1 and <= n
 *   best         to work in                                                             [n + 1]
 *   last         out                                                                    [n + 1]
 * Errors: SHOT_ERR_MEMORY. */
shot_status level_search(const double *sum, const double *power, size_t n, double penalty,
                         size_t least, double *best, size_t *last);

#endif
