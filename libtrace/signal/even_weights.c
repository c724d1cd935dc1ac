/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The weights of even windows. */
#include "signal/even_weights.h"

#include <stdint.h>
#include <stdlib.h>

#include "signal/dot.h"

const even_weights *even_weights_find(const even_shapes *shapes, const shot_window_view *view,
                                      double taper) {
    for (size_t i = 0; i < EVEN_KEPT; i++) {
        const even_weights *even = &shapes->kept[i];
        if (even->n == view->n && even->centre == view->own && even->taper == taper)
            return even;
    }
    return NULL;
}

static shot_status make_room(even_weights *even, size_t n) {
    if (n <= even->room)
        return SHOT_OK;
    double *numbers =
        n > SIZE_MAX / 2 / sizeof *numbers ? NULL : realloc(even->weight, 2 * n * sizeof *numbers);
    if (numbers == NULL)
        return SHOT_ERR_MEMORY;
    even->weight = numbers;
    even->place = numbers + n;
    even->room = n;
    return SHOT_OK;
}

/* Weights for spacing 1, found by a fit to the whole numbers. */
static shot_status make(even_weights *even, const shot_window_view *view, double taper,
                        size_t derivative, shot_local_fit *fit) {
    const size_t n = view->n, centre = view->own;
    even->n = 0;
    SHOT_TRY(make_room(even, n));
    for (size_t i = 0; i < n; i++)
        even->place[i] = (double)i - (double)centre;
    const shot_status status = shot_local_fit_set(fit, even->place, view->y, n, 0, taper);
    if (status != SHOT_OK && status != SHOT_ERR_SINGULAR)
        return status;
    shot_local_fit_weights(fit, 0, derivative, even->weight);
    even->gain = dot(even->weight, even->weight, n);
    even->n = n;
    even->centre = centre;
    even->taper = taper;
    return SHOT_OK;
}

shot_status even_weights_make(even_shapes *shapes, const shot_window_view *view, double taper,
                              size_t derivative, shot_local_fit *fit, const even_weights **out) {
    even_weights *even = &shapes->kept[shapes->next++ % EVEN_KEPT];
    *out = even;
    return make(even, view, taper, derivative, fit);
}

void even_weights_free(even_shapes *shapes) {
    for (size_t i = 0; i < EVEN_KEPT; i++)
        free(shapes->kept[i].weight);
}

shot_status even_ends_find(even_ends *ends, const shot_window_view *view, size_t derivative,
                           shot_local_fit *fit, const even_weights **out, bool *made) {
    if (ends->n != view->n) {
        even_ends_free(ends);
        ends->of = calloc(view->n, sizeof *ends->of);
        if (ends->of == NULL)
            return SHOT_ERR_MEMORY;
        ends->n = view->n;
    }
    even_weights *even = &ends->of[view->own];
    *out = even;
    *made = even->n == 0;
    return *made ? make(even, view, 0, derivative, fit) : SHOT_OK;
}

void even_ends_free(even_ends *ends) {
    for (size_t i = 0; i < ends->n; i++)
        free(ends->of[i].weight);
    free(ends->of);
    *ends = (even_ends){0};
}
