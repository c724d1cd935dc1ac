/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Did the level of a short series change, and when?  Rank based: no distribution is assumed. */
#ifndef SHOTTRACE_SIGNAL_PETTITT_H
#define SHOTTRACE_SIGNAL_PETTITT_H

#include <stddef.h>
#include <stdint.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_pettitt {
    size_t first;         /* index of the first value after the likeliest change */
    double k;             /* the statistic, max |U_t| */
    double p;             /* chance of a k as large in any order of these values, from the draws */
    double se;            /* binomial standard error of p */
    double before, after; /* medians of both sides */
} shot_pettitt;

/* Find the likeliest change of level in y.
 *   y      in order; missing values (NaN) keep their index but are not counted [n]
 *   draws  random orders for p, with shot_random_at(seed, 0); 10000 gives 0.002 at p = 0.05
 * Returns SHOT_OK; SHOT_ERR_RANGE if draws is 0; SHOT_ERR_SINGULAR with fewer than four values;
 * SHOT_ERR_MEMORY.
 * Source: Pettitt 1979, 'A non-parametric approach to the change-point problem', Applied
 * Statistics 28(2):126-135, eq. 2 and 3; p from random orders instead of his limit formula, which
 * is for long series without ties. */
SHOT_API shot_status shot_pettitt_find(const double *y, size_t n, uint64_t draws, uint64_t seed,
                                       shot_pettitt *out);

#ifdef __cplusplus
}
#endif
#endif
