/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Intervals for a proportion: how sure is 'it happened in 3 of 20 shots'? */
#ifndef SHOTTRACE_SIGNAL_PROPORTION_H
#define SHOTTRACE_SIGNAL_PROPORTION_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Interval of the probability of success after `hits` of `n` trials.
 *   hits   <= n
 *   n      >= 1
 *   level  of confidence, 0 < level < 1, e.g. 0.95
 *   low, high  the interval, within [0, 1]; untouched on failure
 * Returns SHOT_OK or SHOT_ERR_RANGE.
 *
 * _wilson covers `level` on average over the true proportion: the choice for showing.  Source:
 * Wilson 1927, 'Probable inference, the law of succession, and statistical inference', J. Am.
 * Stat. Assoc. 22:209-212; Brown, Cai & DasGupta 2001, Statistical Science 16(2):101-133, eq. 4.
 * _exact covers at least `level` for every true proportion: the choice for a guarantee.  Source:
 * Clopper & Pearson 1934, Biometrika 26(4):404-413. */
SHOT_API shot_status shot_proportion_wilson(size_t hits, size_t n, double level, double *low,
                                            double *high);
SHOT_API shot_status shot_proportion_exact(size_t hits, size_t n, double level, double *low,
                                           double *high);

#ifdef __cplusplus
}
#endif
#endif
