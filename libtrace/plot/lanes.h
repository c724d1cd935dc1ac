/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The findings of a shot as a score above its panels: a lane a kind, over the same time. */
#ifndef SHOT_PLOT_LANES_H
#define SHOT_PLOT_LANES_H

#include <shottrace/trace/table.h>

#include "plot/page.h"

/* The width of the names of the lanes that the shot needs. */
double plot_lanes_label_width(const plot_page *page, const shot_table *shot);

/* The lanes, from page->y on, which moves below them.  Knees stand on their curves, not here.
 * False where the figure of a pulse had no room. */
bool plot_lanes_draw(plot_page *page, const plot_axis *x, const shot_table *shot);

/* What the findings lay under a panel from `top` to `bottom`: tints of the surges, borders of the
 * phases, the first drop. */
void plot_lanes_lay_under(plot_page *page, const plot_axis *x, const shot_table *shot, double top,
                          double bottom);

#endif
