/* SPDX-License-Identifier: GPL-3.0-or-later */
/* By how much does y change with x, where each person (bean, machine) may have a slope of their
 * own? One slope for all of them (trend.h) takes what each adds to it for scatter of single values,
 * of which there are many more than there are people, and is far too sure of itself. */
#ifndef SHOTTRACE_SIGNAL_MEAN_SLOPE_H
#define SHOTTRACE_SIGNAL_MEAN_SLOPE_H

#include <shottrace/signal/trend.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The mean of the least-squares slopes of the groups, each counting as one, and Student's test of
 * it over the groups.
 *   x, y   pairs with a missing value (NaN) are left out                 [n]
 *   group  a label of each pair; those of one x alone have no slope      [n]
 *   level  0 < level < 1
 * Returns SHOT_OK; SHOT_ERR_RANGE; SHOT_ERR_SINGULAR with fewer than two slopes, or without any
 * scatter of them; SHOT_ERR_MEMORY.
 * Source: Matthews, Altman, Campbell & Royston 1990, 'Analysis of serial measurements in medical
 * research', BMJ 300:230-235 (a summary of each subject, then a test over subjects). */
SHOT_API shot_status shot_mean_slope_find(const double *x, const double *y, const size_t *group,
                                          size_t n, double level, shot_slope *out);

#ifdef __cplusplus
}
#endif
#endif
