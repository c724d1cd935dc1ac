/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rank-sum test of Wilcoxon, Mann and Whitney, and the shift between two groups that goes
 * with it: for measures with the odd wild value, where a mean says little. */
#ifndef SHOTTRACE_SIGNAL_RANK_TEST_H
#define SHOTTRACE_SIGNAL_RANK_TEST_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_rank_test {
    double w;         /* pairs with a > b, ties counted half (Mann and Whitney's U) */
    double p;         /* two-sided: twice the smaller tail, at most 1 */
    double p_greater; /* chance of a w as large */
    bool exact;       /* from the permutation distribution; else normal with ties and continuity */
    double shift;     /* Hodges-Lehmann: the median of all differences a_i - b_j */
    double low, high; /* interval of the shift */
    double level;     /* the level of that interval that the counts allow: the least one that is
                         at least what was asked for, or less where the groups are too small */
} shot_rank_test;

/* Test a[0..n-1] against b[0..m-1]; missing values (NaN) are left out.
 *   level  of the interval, 0 < level < 1
 * Exact up to 50 values in each group, with ties too.  The interval takes the data as without
 * ties, which makes it wider than needed where there are some.
 * The differences are counted, not kept: time (n + m) log (n + m), memory n + m.
 * Returns SHOT_OK; SHOT_ERR_RANGE; SHOT_ERR_SINGULAR if a group has no values; SHOT_ERR_MEMORY.
 * Source: Hollander & Wolfe 1973, 'Nonparametric Statistical Methods', sections 4.1-4.3; exact
 * distribution with ties: Streitberg & Roehmel 1986, 'Exact distributions for permutation and
 * rank tests', Statistical Software Newsletter 12:10-17. */
SHOT_API shot_status shot_rank_test_find(const double *a, size_t n, const double *b, size_t m,
                                         double level, shot_rank_test *out);

#ifdef __cplusplus
}
#endif
#endif
