/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Labels beside points of a picture, put where they cover neither each other nor the points.
 *
 *     plot_labels labels = {0};
 *     ... plot_labels_keep_free(&labels, x, y, 4) for each point ...
 *     plot_labels_place(&labels, &bounds, &(plot_label){x, y, width, height}, &place, &found);
 *     if (found) ... write it there ...
 *     plot_labels_free(&labels);
 */
#ifndef SHOT_PLOT_LABELS_H
#define SHOT_PLOT_LABELS_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/status.h>

typedef struct plot_box {
    double left, top, right, bottom;
} plot_box;

typedef struct plot_label {
    double x, y, width, height; /* the point beside which it stands; its size */
} plot_label;

typedef struct plot_labels {
    plot_box *taken;
    size_t count, room;
    size_t soft; /* the first so many of the boxes may be covered where nothing else is left */
} plot_labels;

/* Nothing is to cover the square about that point.  SHOT_ERR_MEMORY. */
shot_status plot_labels_keep_free(plot_labels *labels, double x, double y, double radius);

/* What is kept free from here on must stay so; before, if there is another place. */
void plot_labels_harden(plot_labels *labels);

/* True if the point lies inside the box, and not on its edge. */
bool plot_box_holds(const plot_box *box, double x, double y);

/* Find room for a label near its point, inside `bounds`, and take it; `*found` is false where there
 * is none.  SHOT_ERR_MEMORY. */
shot_status plot_labels_place(plot_labels *labels, const plot_box *bounds, const plot_label *label,
                              plot_box *out, bool *found);

void plot_labels_free(plot_labels *labels);

#endif
