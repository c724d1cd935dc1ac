/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An even grid whose times are written in coarse steps. */
#include "detect/even_clock.h"

#include <math.h>

/* Of a step: half of it, and what the grid itself may be off by. */
static const double within = 0.55;
static const double exact = 1e-6; /* of the spacing */

/* The least-squares line of the times over their numbers: t = *first + number * returned. */
static double grid_of(const shot_channel_view *view, double *first) {
    const double middle = ((double)view->n - 1) / 2;
    double mean = 0, product = 0, square = 0;
    for (size_t i = 0; i < view->n; i++) {
        const double u = (double)i - middle;
        mean += (view->t[i] - view->t[0]) / (double)view->n;
        product += u * (view->t[i] - view->t[0]);
        square += u * u;
    }
    const double spacing = product / square;
    *first = view->t[0] + mean - spacing * middle;
    return spacing;
}

static bool are_multiples(const shot_channel_view *view, double step) {
    for (size_t i = 0; i < view->n; i++)
        if (fabs(view->t[i] / step - round(view->t[i] / step)) > 1e-4)
            return false;
    return true;
}

static double farthest(const shot_channel_view *view, double first, double spacing) {
    double most = 0;
    for (size_t i = 0; i < view->n; i++)
        most = fmax(most, fabs(view->t[i] - first - spacing * (double)i));
    return most;
}

void shot_view_even_clock(shot_channel_view *view) {
    static const double steps[] = {0.1, 0.01};
    if (view->n < 5)
        return;
    double first;
    const double spacing = grid_of(view, &first);
    const double off = farthest(view, first, spacing);
    if (off <= exact * spacing)
        return;
    for (size_t k = 0; k < sizeof steps / sizeof *steps; k++) {
        if (!are_multiples(view, steps[k]))
            continue;
        for (size_t i = 0; i < view->n && off <= within * steps[k]; i++)
            view->t[i] = first + spacing * (double)i;
        return;
    }
}
