/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The best description of a series by straight pieces that join: how many, and where they meet.
 *
 *     shot_segmented_line *line;
 *     shot_slope_partition_options options = {.penalty = shot_slope_partition_penalty(n, sd,
 * 0.01)}; shot_segmented_line_options intervals = {.sd = sd, .z = 1.96};
 *     shot_slope_partition_fit(t, y, n, &options, &intervals, &line);
 *     ... shot_segmented_line_free(line);
 *
 * The least of  residual sum of squares + penalty * breaks  over all numbers of breaks and all
 * places among the candidates, by dynamic programming with functional pruning: a change point that
 * is optimal for no value of the curve at a time is never needed later, and a history ends once a
 * joint and the same line are better for every value.  (Plain PELT is not valid here, because
 * neighbouring pieces share the value at their joint.)
 * Source: Fearnhead, Maidstone & Letchford 2019, 'Detecting changes in slope with an L0 penalty',
 * J. Comput. Graph. Stat. 28:265-275. */
#ifndef SHOTTRACE_SIGNAL_SLOPE_PARTITION_H
#define SHOTTRACE_SIGNAL_SLOPE_PARTITION_H

#include <shottrace/signal/segmented_line.h>
#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_slope_partition_options {
    double penalty;     /* price of a break, > 0 [y^2] */
    size_t min_samples; /* least number of samples in each piece; 0: 2 */
    size_t most_places; /* breaks are sought at so many samples, spread evenly; 0: 300.  All are
                           candidates where the series has no more */
} shot_slope_partition_options;

/* The optimum over the candidates.
 *   t, y     as for shot_segmented_line_fit                                   [n]
 *   at       places of the breaks, rising, owned by the caller (free); NULL on error  [*count]
 *   cost     residual sum of squares + penalty * count at the optimum; may be NULL
 * Values at joints are sought within twice the range of y beyond its ends.
 * Time grows with the square of the number of candidates at worst, memory with their number times
 * that of the histories that are best for some value, a few dozen as a rule.
 * Errors: SHOT_ERR_RANGE, SHOT_ERR_SINGULAR (fewer than min_samples samples, or than 2 times),
 * SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_slope_partition_find(const double *t, const double *y, size_t n,
                                               const shot_slope_partition_options *options,
                                               double **at, size_t *count, double *cost);

/* The optimum, then refined between the samples, breaks that no longer pay for themselves taken
 * out, and each of the rest with its interval.  Errors: those of both functions. */
SHOT_API shot_status shot_slope_partition_fit(const double *t, const double *y, size_t n,
                                              const shot_slope_partition_options *options,
                                              const shot_segmented_line_options *intervals,
                                              shot_segmented_line **out);

/* The price of a break at which a straight line in white normal noise gets one with probability
 * `alarm_rate`: sd^2 u^2 with
 *     2 (1 - Phi(u)) + (V / pi) exp(-u^2 / 2) = alarm_rate,   V = sqrt(3) ln(n / 2 - 1).
 * Source: Davies 1987, 'Hypothesis testing when a nuisance parameter is present only under the
 * alternative', Biometrika 74:33-43, eq. 3.4: V is the length of the path of the normed score
 * z(psi) over the places of the break, here from the third sample to the last but two; for a kink
 * in a line |dz/dpsi| has the root mean square sqrt(3) / (2 psi (1 - psi)). n > 6; sd of a sample,
 * for correlated noise the root of the long-run variance 0 < alarm_rate < 1.  NaN outside. */
SHOT_API double shot_slope_partition_penalty(size_t n, double sd, double alarm_rate);

#ifdef __cplusplus
}
#endif
#endif
