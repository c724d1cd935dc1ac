/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Values in blocks (shots of several days): how far they scatter within a block and from block to
 * block, and how two sets of which each has blocks of its own differ.  A block that moves all of
 * its values is one piece of news, however many values it has. */
#ifndef SHOTTRACE_SIGNAL_NESTED_MOMENTS_H
#define SHOTTRACE_SIGNAL_NESTED_MOMENTS_H

#include <stddef.h>

#include <shottrace/signal/two_sample.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Sums of squares over degrees of freedom are mean squares. */
typedef struct shot_nested_moments {
    size_t n, blocks;                 /* values that are there, and blocks that have one */
    double mean;                      /* of the means of the blocks, each counting as one */
    double size;                      /* harmonic mean of the numbers of values in a block */
    double within_squares, within_df; /* about the means of the blocks; n - blocks */
    double means_squares, means_df;   /* of the means of the blocks about `mean`; blocks - 1 */
} shot_nested_moments;

/* Parts of the scatter of single values, in their unit. */
typedef struct shot_nested_scatter {
    double within, within_low, within_high;    /* of values of one block */
    double between, between_low, between_high; /* of the blocks themselves; 0 where they scatter no
                                                  more than their values would make them */
    double overall, overall_low, overall_high; /* of values of different blocks */
    double overall_df;                         /* Satterthwaite's */
    double p; /* that blocks which do not differ would have means as far apart (F test) */
} shot_nested_scatter;

/* Find them of the values of one set.
 *   y      missing values (NaN) are left out [n]
 *   block  which of `blocks` blocks, from 0 [n]
 * Returns SHOT_OK, also of no value (mean and size are then NaN); SHOT_ERR_RANGE for a wrong block;
 * SHOT_ERR_MEMORY.
 * Source: unweighted means, Thomas & Hultquist 1978, 'Interval estimation for the unbalanced case
 * of the one-way random effects model', Ann. Stat. 6:582-587. */
SHOT_API shot_status shot_nested_moments_find(const double *y, const size_t *block, size_t blocks,
                                              size_t n, shot_nested_moments *out);

/* The parts, with intervals at `level` of which none is less than 0.
 * Returns SHOT_OK; SHOT_ERR_RANGE for a wrong level; SHOT_ERR_SINGULAR for fewer than two blocks,
 * no block with two values, or no scatter within any.
 * Sources: ISO 5725-2:1994, 7.4 (repeatability, between-laboratory and reproducibility variance);
 * interval of the part between blocks: Williams 1962, 'A confidence interval for variance
 * components', Biometrika 49:278-281; overall: Graybill & Wang 1980, 'Confidence intervals on
 * nonnegative linear combinations of variances', J. Am. Stat. Assoc. 75:869-873; its degrees of
 * freedom: Satterthwaite 1946, Biometrics Bull. 2:110-114. */
SHOT_API shot_status shot_nested_scatter_find(const shot_nested_moments *m, double level,
                                              shot_nested_scatter *out);

/* The difference of two sets with blocks of their own, a less b: Student's t of the means of the
 * blocks, exact for blocks of the same size; else the scatter within blocks makes up for what
 * smaller blocks are less sure of, with Satterthwaite's degrees of freedom.
 * Returns SHOT_OK; SHOT_ERR_RANGE for a wrong level; SHOT_ERR_SINGULAR where no set has two blocks,
 * or no scatter is left to judge by.
 * Source: Snedecor & Cochran 1989, 'Statistical Methods', 8th ed., ch. 13 (sampling in two stages);
 * Hayes & Moulton 2017, 'Cluster Randomised Trials', 2nd ed., 10.3. */
SHOT_API shot_status shot_nested_difference_find(const shot_nested_moments *a,
                                                 const shot_nested_moments *b, double level,
                                                 shot_t_test *out);

#ifdef __cplusplus
}
#endif
#endif
