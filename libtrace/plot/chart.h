/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One panel with an axis across and one of values: the frame of all pictures that are not over the
 * time of a shot. */
#ifndef SHOT_PLOT_CHART_H
#define SHOT_PLOT_CHART_H

#include "plot/page.h"

typedef struct plot_chart_side {
    const char *name, *unit;
    double low, high; /* what is to be seen */
    bool logarithmic;
    bool whole; /* ticks at whole numbers only */
} plot_chart_side;

typedef struct plot_chart {
    plot_page page;
    plot_axis x, y;
} plot_chart;

/* The page with its title, the name of the values above the panel, grid and axes.  What is drawn
 * then goes on top; plot_chart_end writes the words at the bottom (may be NULL).
 *   height  of the panel in lines of text */
void plot_chart_begin(plot_chart *chart, plot_scene *scene, const plot_look *look,
                      const char *title, const char *subtitle, const plot_chart_side *across,
                      const plot_chart_side *values, double height);
/* Its two steps, for what stands between the words and the panel: the page, then the panel. */
void plot_chart_open(plot_chart *chart, plot_scene *scene, const plot_look *look, const char *title,
                     const char *subtitle, const plot_chart_side *values, double height);
void plot_chart_end(plot_chart *chart, const char *words);

/* A further panel on a page that has been begun: grid and axes from page->y on, with `remark` at
 * its upper right (may be NULL); the axis across is labelled if `bottom`. */
void plot_chart_panel(plot_chart *chart, const plot_chart_side *across,
                      const plot_chart_side *values, double height, const char *remark,
                      bool bottom);

/* Where a point lies; what is beyond the axes is brought to their ends. */
double plot_chart_x(const plot_chart *chart, double value);
double plot_chart_y(const plot_chart *chart, double value);

/* A line through points of the chart; those that are missing (NaN) break it.
 *   xy  [2 n] values */
void plot_chart_line(plot_chart *chart, plot_pen pen, const double *xy, size_t n);

#endif
