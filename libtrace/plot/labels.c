/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Labels beside points. */
#include "plot/labels.h"

#include <stdlib.h>

static shot_status take(plot_labels *labels, plot_box box) {
    if (labels->count == labels->room) {
        const size_t room = 2 * labels->room + 32;
        plot_box *taken = realloc(labels->taken, room * sizeof *taken);
        if (taken == NULL)
            return SHOT_ERR_MEMORY;
        labels->taken = taken;
        labels->room = room;
    }
    labels->taken[labels->count++] = box;
    return SHOT_OK;
}

shot_status plot_labels_keep_free(plot_labels *labels, double x, double y, double radius) {
    return take(labels, (plot_box){x - radius, y - radius, x + radius, y + radius});
}

static bool is_free(const plot_labels *labels, const plot_box *bounds, const plot_box *box) {
    if (box->left < bounds->left || box->right > bounds->right || box->top < bounds->top ||
        box->bottom > bounds->bottom)
        return false;
    for (size_t i = 0; i < labels->count; i++) {
        const plot_box *other = &labels->taken[i];
        if (box->left < other->right && other->left < box->right && box->top < other->bottom &&
            other->top < box->bottom)
            return false;
    }
    return true;
}

shot_status plot_labels_place(plot_labels *labels, const plot_box *bounds, double x, double y,
                              double width, double height, plot_box *out, bool *found) {
    /* sides of the point, the most readable first: the label's near corner or middle goes there */
    static const double sides[][2] = {{1, -1}, {1, 1},  {-1, -1}, {-1, 1},
                                      {1, 0},  {-1, 0}, {0, -1},  {0, 1}};
    *found = false;
    for (double away = 6; away < 4 * height && !*found; away += height / 2)
        for (size_t i = 0; i < sizeof sides / sizeof *sides && !*found; i++) {
            const double left = x + sides[i][0] * away + (sides[i][0] - 1) * width / 2;
            const double top = y + sides[i][1] * (away - 2) + (sides[i][1] - 1) * height / 2;
            *out = (plot_box){left, top, left + width, top + height};
            *found = is_free(labels, bounds, out);
        }
    return *found ? take(labels, *out) : SHOT_OK;
}

void plot_labels_free(plot_labels *labels) {
    free(labels->taken);
    *labels = (plot_labels){0};
}
