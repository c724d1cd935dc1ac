/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One measure over one series of shots: how alike they are, where it should stay, which shot does
 * not belong, and whether it moves. */
#ifndef SHOTTRACE_JUDGE_REPEATABILITY_H
#define SHOTTRACE_JUDGE_REPEATABILITY_H

#include <stdbool.h>

#include <shottrace/signal/control_chart.h>
#include <shottrace/signal/moments.h>
#include <shottrace/signal/nested_moments.h>
#include <shottrace/signal/outlier.h>
#include <shottrace/signal/pettitt.h>
#include <shottrace/signal/trend.h>
#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Figures that the series is too short for are NaN (`enough` says for which number of shots). */
/* Fewer shots have no scatter to judge by, nor limits (common practice, no source). */
enum { SHOT_REPEATABILITY_LEAST = 4 };

typedef struct shot_repeatability {
    shot_moments moments;
    double scatter;              /* of single shots: the standard deviation, or `parts.overall` */
    double sd_low, sd_high;      /* its interval at the level asked for */
    double apart;                /* two shots more differ by more than that in 5 % of the cases */
    shot_control_limits limits;  /* of single shots, three sigmas of the moving range */
    size_t outside;              /* shots beyond them */
    bool last_outside, last_run; /* does the last shot raise a signal of the chart? */
    shot_outlier odd;            /* Grubbs: index into the series, p uncorrected */
    shot_mann_kendall trend;     /* per shot, p uncorrected */
    shot_pettitt change;         /* of level, p uncorrected; `first` is an index into the series */
    bool in_steps;               /* one step describes the series better than a line */
    bool enough;                 /* four values and some scatter: all of the above were found */
    size_t days;               /* that `parts` are of; 0: not known, or one day, or one shot each */
    shot_nested_scatter parts; /* within and between days */
    double apart_within;       /* as `apart`, of two shots of one day */
    bool days_differ;          /* by more than their shots make them; then `limits` are of all days,
                                  `trend` and `change` over the days' means (its k is Student's |t|,
                                  the slope a day), and there are no runs */
} shot_repeatability;

/* Look at x[0..n-1], in the order of the shots; missing values (NaN) are left out.
 *   level  0 < level < 1
 * Returns SHOT_OK, also for few or equal values; SHOT_ERR_RANGE; SHOT_ERR_MEMORY.
 * A step against a line: the smaller Bayesian information criterion n ln(RSS/n) + k ln n, with k =
 * 3 for two levels and a place, 2 for a line: Schwarz 1978, Ann. Stat. 6(2):461-464.
 * Two shots more: their difference over sqrt(2) s has Student's t distribution with n - 1 degrees
 * of freedom, so `apart` is its quantile times sqrt(2) s; for many shots 1.96 sqrt(2) s, the
 * repeatability limit of ISO 5725-6:1994, 4.1.4, which takes s as known.  With ten shots that limit
 * would be passed in 8 % of the cases, with four in 14 %.
 * Sources of the others stand with their kernels in shottrace/signal. */
SHOT_API shot_status shot_repeatability_find(const double *x, size_t n, double level,
                                             shot_repeatability *out);

/* The same of shots of several days, where a day has two of them: the scatter is then that of shots
 * of different days, with its parts.
 *   day    which of `days` days, from 0, in their order [n]
 * Returns the same, and SHOT_ERR_RANGE for a wrong day.
 * A step over the days' means: the best Student's test of those before and after each place, its p
 * times the number of places; a drift: their slope; both p twice, since either is looked for
 * (Bonferroni). */
SHOT_API shot_status shot_repeatability_of_days_find(const double *x, const size_t *day,
                                                     size_t days, size_t n, double level,
                                                     shot_repeatability *out);

#ifdef __cplusplus
}
#endif
#endif
