/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Labels beside points. */
#include "plot/labels.h"

#include <stdlib.h>

#include "room.h"

static shot_status take(plot_labels *labels, plot_box box) {
    plot_box *taken = room_for_more(labels->taken, labels->count, &labels->room, 32, sizeof *taken);
    if (taken == NULL)
        return SHOT_ERR_MEMORY;
    labels->taken = taken;
    labels->taken[labels->count++] = box;
    return SHOT_OK;
}

shot_status plot_labels_keep_free(plot_labels *labels, double x, double y, double radius) {
    return take(labels, (plot_box){x - radius, y - radius, x + radius, y + radius});
}

void plot_labels_harden(plot_labels *labels) {
    labels->soft = labels->count;
}

/* True if the box covers none of what is taken, from the box `first` on. */
static bool is_free(const plot_labels *labels, size_t first, const plot_box *bounds,
                    const plot_box *box) {
    if (box->left < bounds->left || box->right > bounds->right || box->top < bounds->top ||
        box->bottom > bounds->bottom)
        return false;
    for (size_t i = first; i < labels->count; i++) {
        const plot_box *other = &labels->taken[i];
        if (box->left < other->right && other->left < box->right && box->top < other->bottom &&
            other->top < box->bottom)
            return false;
    }
    return true;
}

/* The nearest free place; false if there is none. */
static bool find_place(const plot_labels *labels, size_t first, const plot_box *bounds,
                       const plot_label *label, plot_box *out) {
    const double width = label->width, height = label->height;
    /* sides of the point, the most readable first: the label's near corner or middle goes there */
    static const double sides[][2] = {{1, -1}, {1, 1},  {-1, -1}, {-1, 1},
                                      {1, 0},  {-1, 0}, {0, -1},  {0, 1}};
    for (double away = 6; away < 4 * height; away += height / 2)
        for (size_t i = 0; i < sizeof sides / sizeof *sides; i++) {
            const double left = label->x + sides[i][0] * away + (sides[i][0] - 1) * width / 2;
            const double top = label->y + sides[i][1] * (away - 2) + (sides[i][1] - 1) * height / 2;
            *out = (plot_box){left, top, left + width, top + height};
            if (is_free(labels, first, bounds, out))
                return true;
        }
    return false;
}

bool plot_box_holds(const plot_box *box, double x, double y) {
    return x > box->left && x < box->right && y > box->top && y < box->bottom;
}

shot_status plot_labels_place(plot_labels *labels, const plot_box *bounds, const plot_label *label,
                              plot_box *out, bool *found) {
    *found = find_place(labels, 0, bounds, label, out) ||
             find_place(labels, labels->soft, bounds, label, out);
    return *found ? take(labels, *out) : SHOT_OK;
}

void plot_labels_free(plot_labels *labels) {
    free(labels->taken);
    *labels = (plot_labels){0};
}
