/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Control charts: is this series only scattering as it always does?
 *
 *     shot_control_limits limits;
 *     shot_control_chart_individuals(x, n, 3, &limits, NULL);
 *     shot_control_chart_signals(x, n, &limits, signal);
 *
 * Sources: Shewhart 1931, 'Economic Control of Quality of Manufactured Product'; ISO 7870-2;
 * NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.
 */
#ifndef SHOTTRACE_SIGNAL_CONTROL_CHART_H
#define SHOTTRACE_SIGNAL_CONTROL_CHART_H

#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* What turns a mean range or a mean standard deviation of subgroups of n into sigma and limits. */
typedef struct shot_shewhart {
    double d2, d3;     /* mean and standard deviation of the range of n standard normal values */
    double c4;         /* mean of their standard deviation */
    double a2, D3, D4; /* limits of means and of ranges, from the mean range */
    double a3, B3, B4; /* limits of means and of deviations, from the mean deviation */
} shot_shewhart;

/* Constants for subgroups of n >= 2, computed: d2 and d3 by integrating the distribution of the
 * range (Tippett 1925, 'On the extreme individuals and the range of samples taken from a normal
 * population', Biometrika 17:364-387), c4 from gamma functions.  Accuracy 1e-9 up to n = 1000.
 * Returns SHOT_OK or SHOT_ERR_RANGE. */
SHOT_API shot_status shot_control_chart_constants(size_t n, shot_shewhart *out);

typedef struct shot_control_limits {
    double centre, sigma, low, high;
} shot_control_limits;

/* Chart of single values: sigma is the mean range of neighbours over d2(2) = 2/sqrt(pi), which a
 * slow drift hardly touches, unlike the standard deviation.
 *   x       in the order in which they were made; missing values (NaN) are stepped over [n]
 *   widths  of the limits in sigmas, > 0; 3 by custom
 *   ranges  limits of the moving range; may be NULL
 * Returns SHOT_OK; SHOT_ERR_RANGE; SHOT_ERR_SINGULAR with fewer than two values. */
SHOT_API shot_status shot_control_chart_individuals(const double *x, size_t n, double widths,
                                                    shot_control_limits *values,
                                                    shot_control_limits *ranges);

/* Raise the lower limit to `least`, which no value can be less than (0 for a length, -INFINITY for
 * none): below it no value would ever be seen.  Left as it is where a value is less all the same.
 * Source: Montgomery 2013, 'Introduction to Statistical Quality Control', 7th ed., ch. 7, where a
 * lower limit below 0 of what is counted is set to 0 (from memory). */
SHOT_API void shot_control_chart_bound(const double *x, size_t n, double least,
                                       shot_control_limits *limits);

/* Exponentially weighted moving average, z_i = lambda x_i + (1 - lambda) z_{i-1} from z_0 = target:
 * sees a small lasting shift sooner than single values do.
 *   lambda  0 < lambda <= 1
 *   z       out; where x is missing z stays as it was [n]
 * Returns SHOT_OK or SHOT_ERR_RANGE.
 * Source: Roberts 1959, 'Control chart tests based on geometric moving averages', Technometrics
 * 1(3):239-250. */
SHOT_API shot_status shot_control_chart_ewma(const double *x, size_t n, double lambda,
                                             double target, double *z);

/* Standard deviation of the i-th average (1-based; 0 for the limit after many) in units of sigma:
 * sqrt(lambda/(2 - lambda) (1 - (1 - lambda)^(2i))). */
SHOT_API double shot_control_chart_ewma_width(double lambda, size_t i);

/* What a value says, added up.  Rules 1 and 2 of Nelson 1984, 'The Shewhart control chart - tests
 * for special causes', J. Quality Technology 16(4):237-239. */
typedef enum shot_control_signal {
    SHOT_CONTROL_OUTSIDE = 1, /* beyond a limit */
    SHOT_CONTROL_RUN = 2      /* the ninth or a later one in a row on one side of the centre */
} shot_control_signal;

/* Apply both rules; signal[i] gets the sum, 0 where all is well or the value is missing [n]. */
SHOT_API void shot_control_chart_signals(const double *x, size_t n,
                                         const shot_control_limits *limits, unsigned char *signal);

#ifdef __cplusplus
}
#endif
#endif
