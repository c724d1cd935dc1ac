/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A continuous piecewise-linear fit with a given number of breaks, and how sure each break is.
 *
 *     y = a + b t + sum_j c_j max(t - psi_j, 0) + noise
 *
 * The breaks psi_j are free: they may lie between samples.  Samples may be uneven in time, several
 * may share a time, missing ones (NaN) are left out.  The noise may be correlated.
 *
 *     shot_segmented_line *line;
 *     shot_segmented_line_options options = {.z = 1.96};
 *     if (shot_segmented_line_fit(t, y, n, NULL, 2, &options, &line) == SHOT_OK)
 *         printf("first knee at %g, %g to %g\n", line->breaks[0].at, line->breaks[0].low,
 *                line->breaks[0].high);
 *     shot_segmented_line_free(line);
 *
 * Sources.  Hudson 1966, 'Fitting segmented curves whose join points have to be estimated', J. Am.
 * Stat. Assoc. 61:1097-1129: between two samples the optimum is the crossing of two free lines,
 * or else it lies on a sample; a Gauss-Newton step is exactly that crossing.  Gallant & Fuller
 * 1973, 'Fitting segmented polynomial regression models whose join points have to be estimated', J.
 * Am. Stat. Assoc. 68:144-147.  Intervals: standard errors by the delta method on the linearised
 * model, or the profile of the residual sum of squares (Seber & Wild 1989, 'Nonlinear Regression',
 * section 5.2.1 and 9.3.4), which stays honest where a piece is short and the estimate is skew. */
#ifndef SHOTTRACE_SIGNAL_SEGMENTED_LINE_H
#define SHOTTRACE_SIGNAL_SEGMENTED_LINE_H

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* How the interval of a break is made. */
typedef enum shot_break_interval {
    SHOT_INTERVAL_PROFILE, /* all places whose best fit is not worse than z^2 noise variances */
    SHOT_INTERVAL_WALD     /* at -+ z standard errors */
} shot_break_interval;

/* All zero is a usable default, but for z. */
typedef struct shot_segmented_line_options {
    const double *weights; /* [n] sample i has variance sd^2/weights[i], > 0; NULL: all are 1 */
    double sd;             /* SD of the noise of a sample, >= 0 [y]; 0: from the residuals */
    double corr;           /* the noise has correlation exp(-|lag|/corr), >= 0 [t]; 0: white */
    double z;              /* half-width of an interval in standard errors, > 0: the quantile of
                              the normal or t distribution, 1.96 for 95 % where n is large */
    size_t min_samples;    /* least number of samples in each piece; 0: 2 */
    shot_break_interval interval;
} shot_segmented_line_options;

typedef struct shot_line_break {
    double at;        /* the place [t] */
    double value;     /* the fitted value there [y] */
    double se;        /* standard error of the place; infinite where a neighbouring piece has
                         too few samples for a line of its own */
    double low, high; /* interval, within the span of the data; an end that the data cannot
                         exclude is the end of the data */
    double change;    /* slope after less slope before [y/t] */
    double change_se; /* its standard error, infinite likewise */
} shot_line_break;

typedef struct shot_line_piece {
    double from, to;             /* [t] */
    double value_from, value_to; /* [y] */
    double slope, slope_se;      /* [y/t] */
    size_t samples;
} shot_line_piece;

typedef struct shot_segmented_line {
    size_t count;            /* number of breaks K */
    shot_line_break *breaks; /* [K], rising */
    shot_line_piece *pieces; /* [K + 1] */
    size_t used;             /* samples that were not missing */
    double rss;              /* weighted residual sum of squares [y^2] */
    double sd;               /* noise SD used for the errors: as given, or sqrt(rss/(used-2-2K)) */
} shot_segmented_line;

/* Least-squares fit of K breaks.
 *   t        times, not falling, finite                                [n]
 *   y        values, NaN where missing                                 [n]
 *   starts   places from which the search starts, rising, inside t; NULL: the whole span is
 *            searched, break by break, each addition followed by a new search for every break  [K]
 *   count    K; 0 fits one line
 *   out      the fit, owned by the caller: shot_segmented_line_free
 * The result for K = 1 without starts is the optimum over all samples for n <= 512, and over 512
 * places evenly spread among them, each refined, beyond.
 * Errors: SHOT_ERR_RANGE (an argument is outside what is said above), SHOT_ERR_SINGULAR (fewer than
 * 3 + 2K samples, or no placing leaves min_samples in each piece), SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_segmented_line_fit(const double *t, const double *y, size_t n,
                                             const double *starts, size_t count,
                                             const shot_segmented_line_options *options,
                                             shot_segmented_line **out);

/* The fitted value at time t; beyond the ends the outer pieces go on. */
SHOT_API double shot_segmented_line_value(const shot_segmented_line *line, double t);

/* NULL is allowed. */
SHOT_API void shot_segmented_line_free(shot_segmented_line *line);

#ifdef __cplusplus
}
#endif
#endif
