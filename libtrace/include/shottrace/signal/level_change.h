/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the level of a series jumps: piecewise-constant description by least squares.
 *
 *     shot_levels *levels;
 *     if (shot_levels_find(y, n, shot_levels_penalty(n, sd), 2, &levels) == SHOT_OK)
 *         for (size_t j = 0; j < levels->count; j++)
 *             printf("level %g from sample %zu on\n", levels->mean[j + 1], levels->first[j]);
 *     shot_levels_free(levels);
 *
 * Sources.  A given number of breaks: Bai & Perron 2003, 'Computation and analysis of multiple
 * structural change models', J. Appl. Econometrics 18:1-22 (dynamic programming, exact).  A
 * penalised number: Killick, Fearnhead & Eckley 2012, 'Optimal detection of changepoints with a
 * linear computational cost', J. Am. Stat. Assoc. 107:1590-1598 (PELT, exact), with the pruning by
 * functions of Maidstone, Hocking, Rigaill & Fearnhead 2017, 'On optimal multiple changepoint
 * algorithms for large data', Stat. Comput. 27:519-533, as exact, and quick where nothing changes
 * too.  Intervals: Bai 1997, 'Estimation of a change point in multiple regression models', Rev.
 * Econ. Stat. 79:551-563. */
#ifndef SHOTTRACE_SIGNAL_LEVEL_CHANGE_H
#define SHOTTRACE_SIGNAL_LEVEL_CHANGE_H

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Places are indices into the series as given, missing samples counted. */
typedef struct shot_levels {
    size_t count;  /* number of breaks */
    size_t *first; /* [count] first sample of each new level, rising */
    double *mean;  /* [count + 1] */
    double rss;    /* residual sum of squares [y^2] */
    size_t used;   /* samples that were not missing */
} shot_levels;

/* The partition with the least rss + penalty * count.
 *   y            values, NaN where missing, none infinite                [n]
 *   penalty      price of a break, > 0 [y^2]
 *   min_samples  least number of samples on each level, >= 1
 *   out          owned by the caller: shot_levels_free
 * Errors: SHOT_ERR_RANGE, SHOT_ERR_SINGULAR (fewer samples than min_samples), SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_levels_find(const double *y, size_t n, double penalty, size_t min_samples,
                                      shot_levels **out);

/* The partition with exactly `count` breaks and the least rss; time grows as count n^2.
 * Errors: as above; SHOT_ERR_SINGULAR if (count + 1) min_samples samples are not there. */
SHOT_API shot_status shot_levels_exact(const double *y, size_t n, size_t count, size_t min_samples,
                                       shot_levels **out);

/* NULL is allowed. */
SHOT_API void shot_levels_free(shot_levels *levels);

/* The usual price of a break, 2 sd^2 ln n: the new level and its place (Yao 1988, 'Estimating the
 * number of change-points via Schwarz' criterion', Stat. Probab. Lett. 6:181-189).  For correlated
 * noise give the root of the long-run variance as sd. */
SHOT_API double shot_levels_penalty(size_t n, double sd);

/* Schwarz's criterion n (ln(2 pi rss/n) + 1) + 2 (count + 1) ln n: count + 1 means, count places and
 * a variance.  The least is the best. */
SHOT_API double shot_levels_bic(const shot_levels *levels);

/* Interval for the place of break j, as first samples of the new level, for a variance that may
 * differ on both sides.  The interval is rounded outwards and may leave the series by a sample.
 *   confidence   in (0, 1)
 *   inflation    long-run variance over variance, 1 for white noise
 * Errors: SHOT_ERR_RANGE. */
SHOT_API shot_status shot_levels_interval(const shot_levels *levels, const double *y, size_t n,
                                          size_t j, double confidence, double inflation,
                                          double *low, double *high);

/* Distribution function of the place of the maximum of a two-sided Brownian motion with drift
 * -|v|/2 and scale 1 for v <= 0, and drift -xi |v|/2 and scale `scale` for v > 0.  Bai 1997,
 * appendix; for xi = scale = 1 Yao 1987, 'Approximating the distribution of the maximum likelihood
 * estimate of the change-point in a sequence of independent random variables', Ann. Stat.
 * 15:1321-1328. */
SHOT_API double shot_levels_argmax_cdf(double v, double xi, double scale);

#ifdef __cplusplus
}
#endif
#endif
