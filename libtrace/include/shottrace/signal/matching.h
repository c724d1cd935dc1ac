/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which of two lists of instants belong together: found events and true ones. */
#ifndef SHOTTRACE_SIGNAL_MATCHING_H
#define SHOTTRACE_SIGNAL_MATCHING_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

#define SHOT_UNMATCHED ((size_t)-1)

/* Pair instants of `a` with instants of `b`, each with at most one, no further apart than `within`:
 * as many pairs as can be, and of all such pairings one with the least sum of distances.
 *   a, b     rising (equal ones allowed), none missing     [n], [m]
 *   within   >= 0
 *   partner  for each of `a` the index of its partner in `b`, or SHOT_UNMATCHED     [n]
 * SHOT_ERR_RANGE for an argument outside its interval; SHOT_ERR_MEMORY.
 *
 * On a line some best pairing has no two pairs that cross (swapping the partners of a crossing pair
 * makes neither the longer distance nor the sum larger), so it is a longest common subsequence with
 * costs, found by dynamic programming: Needleman & Wunsch 1970, J. Mol. Biol. 48:443-453.  Time and
 * memory are n m within each run of instants that are closer than `within`, linear over runs. */
SHOT_API shot_status shot_matching_find(const double *a, size_t n, const double *b, size_t m,
                                        double within, size_t *partner);

#ifdef __cplusplus
}
#endif
#endif
