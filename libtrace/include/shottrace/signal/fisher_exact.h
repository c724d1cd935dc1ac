/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Do two groups differ in how often something happened: in 0 of 5 shots here, in 4 of 5 there? */
#ifndef SHOTTRACE_SIGNAL_FISHER_EXACT_H
#define SHOTTRACE_SIGNAL_FISHER_EXACT_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The two-sided p of Fisher's exact test: the chance, with as many hits in all and no difference,
 * of a table that is no likelier than the one seen.
 *   a_hits of a_n, b_hits of b_n  how often it happened in a group, and how many there are of it
 * SHOT_ERR_RANGE, with p untouched, where a group is empty or has more hits than members.
 * Source: Fisher 1934, Statistical Methods for Research Workers, 5th ed., sec. 21.02; two-sided by
 * the chances of the tables: Agresti 2002, Categorical Data Analysis, 2nd ed., sec. 3.5. */
SHOT_API shot_status shot_fisher_exact(size_t a_hits, size_t a_n, size_t b_hits, size_t b_n,
                                       double *p);

#ifdef __cplusplus
}
#endif
#endif
