/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Samples as lines and bands on a page. */
#ifndef SHOT_PLOT_CURVE_H
#define SHOT_PLOT_CURVE_H

#include <stddef.h>

#include "plot/axis.h"
#include "plot/scene.h"

/* A channel over time; both arrays are borrowed. */
typedef struct plot_series {
    const double *time, *value; /* [n]; a missing value is NaN */
    size_t n;
    double origin; /* the time that is 0 on the axis */
} plot_series;

/* Widen *low..*high (NaN at first) to hold all values that are finite. */
void plot_curve_reach(const double *values, size_t n, double *low, double *high);

/* Times between samples that are longer than this are not bridged by a line: five times the median
 * spacing of those that have a value.  Infinite with fewer than three samples. */
double plot_curve_gap(const plot_series *series);

/* The line through the samples.  Missing values are stepped over, since a scale and a gauge often
 * log at different rates in one table; a gap breaks the line, and a sample alone between gaps is a
 * dot.  What lies beyond the axis of y is not drawn.  Of the samples in one column of `pixel` page
 * units the first, the lowest, the highest and the last are kept, which gives the same picture as
 * all of them (Jugel, Jerzak, Hackenbroich & Markl 2014, 'M4: a visualization-oriented time series
 * data aggregation', PVLDB 7(10):797-808). */
void plot_curve_line(plot_scene *scene, const plot_axis *x, const plot_axis *y,
                     const plot_series *series, plot_pen pen, double pixel);

/* The band from `low` to `high`, over the same times as the series. */
void plot_curve_band(plot_scene *scene, const plot_axis *x, const plot_axis *y,
                     const plot_series *series, const double *low, const double *high, plot_ink ink,
                     double pixel);

/* The value on the straight line between the samples around `when`; NaN beyond them. */
double plot_curve_at(const plot_series *series, double when);

#endif
