/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Does one group scatter less than the other: is the hand steadier, the machine, the new tamper?
 * The F test of two variances takes values as normal: of exponential ones, eight a side, it calls
 * 20 % different that are not (test_scatter_ratio.c).
 */
#ifndef SHOTTRACE_SIGNAL_SCATTER_RATIO_H
#define SHOTTRACE_SIGNAL_SCATTER_RATIO_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Fewer values of a group do not tell how heavy its tails are. */
enum { SHOT_SCATTER_RATIO_LEAST = 5 };

typedef struct shot_scatter_ratio {
    double ratio;     /* standard deviation of the first group over that of the second */
    double low, high; /* its interval; under 1: the first is the steadier one */
    size_t blocks;    /* that it was told from, 0 without blocks */
} shot_scatter_ratio;

/* The ratio of two groups.
 *   a, b      missing values (NaN) are left out [n], [m]
 *   rounding  a variance below this counts as this: what the figures leave out, the square of their
 *             step over 12; 0: nothing
 *   level     0 < level < 1
 * Returns SHOT_OK; SHOT_ERR_SINGULAR with fewer than SHOT_SCATTER_RATIO_LEAST values of a group, with
 * too few for the level (1.5 times its normal deviate are needed), or without any scatter;
 * SHOT_ERR_RANGE; SHOT_ERR_MEMORY.  *out is untouched by an error.
 * Source: Bonett 2006, 'Robust confidence interval for a ratio of standard deviations', Appl.
 * Psychol. Meas. 30:432-439: the variance of ln s by the pooled kurtosis about trimmed means. */
SHOT_API shot_status shot_scatter_ratio_find(const double *a, size_t n, const double *b, size_t m,
                                             double rounding, double level,
                                             shot_scatter_ratio *out);

/* The same of groups that share blocks (people, beans), each with a level and a scatter of its own:
 * the geometric mean of the blocks' ratios, and Student's t over blocks.
 *   y       [n], missing values (NaN) are left out
 *   second  true for the members of the second group [n]
 *   block   which of `blocks` blocks, from 0 [n]; one with fewer than two values on a side tells
 *           nothing
 * Returns the same; SHOT_ERR_SINGULAR with fewer than two blocks that tell, or without any scatter
 * of the blocks' ratios; SHOT_ERR_RANGE also for a wrong block.
 * Source: logarithms of variances, less their bias ln(v/2) - psi(v/2) on v degrees of freedom:
 * Bartlett & Kendall 1946, 'The statistical analysis of variance-heterogeneity and the logarithmic
 * transformation', J. R. Stat. Soc. Suppl. 8:128-138. */
SHOT_API shot_status shot_scatter_ratio_within(const double *y, const bool *second,
                                               const size_t *block, size_t blocks, size_t n,
                                               double rounding, double level,
                                               shot_scatter_ratio *out);

#ifdef __cplusplus
}
#endif
#endif
