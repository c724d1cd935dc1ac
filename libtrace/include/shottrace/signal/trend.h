/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Does a series drift with the order in which it was made? */
#ifndef SHOTTRACE_SIGNAL_TREND_H
#define SHOTTRACE_SIGNAL_TREND_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_slope {
    double slope, se;
    double df, t, p;  /* p two-sided */
    double low, high; /* interval at the level asked for */
} shot_slope;

/* One least-squares slope of y against x common to all groups, each group at its own level: tells a
 * drift over the day from a difference between the groups.  With one group it is the ordinary
 * slope.
 *   x, y   pairs with a missing value (NaN) are left out [n]
 *   group  a label of each pair, NULL for one group [n]
 *   level  0 < level < 1
 * Returns SHOT_OK; SHOT_ERR_RANGE; SHOT_ERR_SINGULAR with fewer than groups + 2 pairs, where x does
 * not vary within a group, or without any scatter about the slope; SHOT_ERR_MEMORY.
 * Source: analysis of covariance, e.g. Snedecor & Cochran 1989, 'Statistical Methods', 8th ed.,
 * ch. 18. */
SHOT_API shot_status shot_trend_slope(const double *x, const double *y, const size_t *group,
                                      size_t n, double level, shot_slope *out);

typedef struct shot_mann_kendall {
    double s;         /* pairs that rise less pairs that fall */
    double tau;       /* s over the number of pairs: -1 falls always, 1 rises always */
    double p;         /* two-sided */
    bool exact;       /* over all orders of the values; else normal with ties and continuity */
    double slope;     /* Theil and Sen: median slope over all pairs, per step of order */
    double low, high; /* interval of that slope at the level asked for, or the widest there is */
} shot_mann_kendall;

/* The rank test for a trend of any shape, insensitive to the odd wild value.
 *   y      in order; missing values keep their place in the order but are not counted [n]
 *   level  0 < level < 1
 * Exact up to 50 values without ties.  Keeps n(n - 1)/2 slopes.
 * Returns SHOT_OK; SHOT_ERR_RANGE; SHOT_ERR_SINGULAR with fewer than three values; SHOT_ERR_MEMORY.
 * Source: Mann 1945, 'Nonparametric tests against trend', Econometrica 13:245-259; Kendall 1975,
 * 'Rank Correlation Methods'; Sen 1968, 'Estimates of the regression coefficient based on
 * Kendall's tau', J. Am. Stat. Assoc. 63:1379-1389. */
SHOT_API shot_status shot_trend_mann_kendall(const double *y, size_t n, double level,
                                             shot_mann_kendall *out);

#ifdef __cplusplus
}
#endif
#endif
