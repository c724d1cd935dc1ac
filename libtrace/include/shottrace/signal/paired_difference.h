/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The difference of two groups that share their blocks: the same people in either week, the same
 * beans by either grinder.  How far blocks lie apart is not in it, and a block is one piece of
 * news, however many values it has.
 *
 *     shot_paired_difference d;
 *     shot_paired_difference_find(y, second, student, students, n, 0.95, 1000000, &d);
 *     d.test.difference, d.test.low, d.test.high; d.pairs
 */
#ifndef SHOTTRACE_SIGNAL_PAIRED_DIFFERENCE_H
#define SHOTTRACE_SIGNAL_PAIRED_DIFFERENCE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <shottrace/signal/moments.h>
#include <shottrace/signal/two_sample.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_paired_difference {
    size_t pairs;               /* blocks that have values of both groups */
    shot_moments first, second; /* of the means of these blocks, each counting as one */
    double sd;                  /* of the differences of these means; NaN of fewer than two; 0
                                   where they differ by no more than rounding */
    shot_t_test test;           /* of the first group less the second, pairs - 1 degrees of freedom;
                                   NaN without scatter */
    double p_signs; /* two-sided, over all changes of sign; NaN where there are more than
                       `arrangements` of them */
} shot_paired_difference;

/* Student's test of the blocks' differences, after the values of a block and group are averaged.
 *   y             missing values (NaN) are left out [n]
 *   second        true for the members of the second group [n]
 *   block         which of `blocks` blocks, from 0 [n]
 *   level         of the interval, 0 < level < 1
 *   arrangements  most changes of sign that may be counted
 * Blocks with unlike numbers of values are not equally sure; Student's test of such differences
 * keeps its level at 5 % and below.
 * Returns SHOT_OK, also where no block has both; SHOT_ERR_RANGE for a wrong level or block;
 * SHOT_ERR_MEMORY.  *out is untouched on failure.
 * Sources: Student 1908, Biometrika 6:1-25; changes of sign: Fisher 1935, 'The Design of
 * Experiments', section 21; differences that are not equally sure: Ibragimov & Mueller 2010, 't-
 * statistic based correlation and heterogeneity robust inference', J. Bus. Econ. Stat. 28:453-468.
 */
SHOT_API shot_status shot_paired_difference_find(const double *y, const bool *second,
                                                 const size_t *block, size_t blocks, size_t n,
                                                 double level, uint64_t arrangements,
                                                 shot_paired_difference *out);

#ifdef __cplusplus
}
#endif
#endif
