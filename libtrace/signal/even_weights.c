/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The weights of windows on an even grid, found again by their shape. */
#include "signal/even_weights.h"

#include <stdint.h>
#include <stdlib.h>

#include "signal/dot.h"
#include "room.h"

/* A shape lies in one of four neighbouring places. */
enum { KEPT = 256, COMPETING = 4, LONG_ONES = 8 };

static bool is_same(const even_shape *a, const even_shape *b) {
    return a->n == b->n && a->own == b->own && a->behind == b->behind && a->missing == b->missing &&
           a->taper == b->taper;
}

/* The first of its places. */
static size_t place_of(const even_shape *shape) {
    if (shape->n > EVEN_LONGEST)
        return shape->n % (LONG_ONES - COMPETING + 1);
    const uint32_t key =
        (uint32_t)((shape->n << 16) ^ (shape->own << 10) ^ (shape->behind << 4) ^ shape->missing);
    return (key * 2654435761u >> 16) % (KEPT - COMPETING + 1); /* Knuth's multiplicative hashing */
}

const even_weights *even_weights_find(const even_shapes *shapes, const even_shape *shape) {
    if (shapes->kept == NULL)
        return NULL;
    const even_weights *kept = &shapes->kept[place_of(shape)];
    for (size_t i = 0; i < COMPETING; i++)
        if (is_same(&kept[i].of, shape))
            return &kept[i];
    return NULL;
}

/* An empty place for a shape, or one that gives way. */
static even_weights *choose(even_shapes *shapes, const even_shape *shape) {
    even_weights *kept = &shapes->kept[place_of(shape)];
    for (size_t i = 0; i < COMPETING; i++)
        if (kept[i].of.n == 0)
            return &kept[i];
    return &kept[shapes->turn++ % COMPETING];
}

static bool make_room(even_shapes *shapes, size_t n) {
    if (shapes->kept == NULL)
        shapes->kept = calloc(KEPT, sizeof *shapes->kept);
    return shapes->kept != NULL && room_to_work(&shapes->place, &shapes->room, n);
}

static void find_places(const even_shape *shape, double *place) {
    const bool late = shape->behind > 0 && shape->own >= shape->behind;
    const double own = (double)(shape->own + (late ? shape->missing : 0));
    for (size_t i = 0; i < shape->n; i++)
        place[i] = (double)i - own;
    for (size_t i = shape->behind; shape->behind > 0 && i < shape->n; i++)
        place[i] += (double)shape->missing;
}

shot_status even_weights_make(even_shapes *shapes, const even_shape *shape, size_t derivative,
                              shot_local_fit *fit, const even_weights **out) {
    if (!make_room(shapes, shape->n))
        return SHOT_ERR_MEMORY;
    even_weights *even = choose(shapes, shape);
    even->of.n = 0;
    if (!room_to_work(&even->weight, &even->room, shape->n))
        return SHOT_ERR_MEMORY;
    find_places(shape, shapes->place);
    /* the weights do not depend on the values */
    const shot_status status =
        shot_local_fit_set(fit, shapes->place, shapes->place, shape->n, 0, shape->taper);
    if (status != SHOT_OK && status != SHOT_ERR_SINGULAR)
        return status;
    shot_local_fit_weights(fit, 0, derivative, even->weight);
    even->gain = dot(even->weight, even->weight, shape->n);
    even->of = *shape;
    *out = even;
    return SHOT_OK;
}

void even_weights_free(even_shapes *shapes) {
    for (size_t i = 0; i < KEPT && shapes->kept != NULL; i++)
        free(shapes->kept[i].weight);
    free(shapes->kept);
    free(shapes->place);
}
