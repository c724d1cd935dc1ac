/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The weights by which the samples of a window on an even grid make the value of its polynomial.
 * They depend on which places of the grid have a sample and on nothing else, and are kept: windows
 * of one shape come again with every row, those at the ends with every shot, those beside a hole
 * with every sample that is missing. */
#ifndef SHOT_SIGNAL_EVEN_WEIGHTS_H
#define SHOT_SIGNAL_EVEN_WEIGHTS_H

#include <stdbool.h>

#include <shottrace/signal/local_fit.h>

/* What the weights depend on. */
typedef struct even_shape {
    size_t n, own;  /* samples, and which of them the value is for */
    size_t behind;  /* the first sample behind a hole in the grid; 0: there is none */
    size_t missing; /* places of the grid in the hole */
    double taper;   /* half-width in steps of the grid, 0: none */
} even_shape;

/* Longer windows with a hole or at an end have weights of their own too seldom. */
enum { EVEN_LONGEST = 64 };

typedef struct even_weights {
    even_shape of;
    double *weight; /* for spacing 1   [room] */
    size_t room;
    double gain; /* for spacing 1 */
} even_weights;

/* Those of a few hundred shapes, of which at most eight are longer than EVEN_LONGEST.  A zeroed one
 * is empty. */
typedef struct even_shapes {
    even_weights *kept; /* owned, or NULL */
    double *place;      /* of the samples of a shape on the grid   owned [room] */
    size_t room;
    size_t turn; /* which of those that compete gives way */
} even_shapes;

/* Those that are kept, or NULL. */
const even_weights *even_weights_find(const even_shapes *shapes, const even_shape *shape);

/* New ones of a derivative, found by a fit to the whole numbers, which `fit` then holds.
 * SHOT_ERR_MEMORY. */
shot_status even_weights_make(even_shapes *shapes, const even_shape *shape, size_t derivative,
                              shot_local_fit *fit, const even_weights **out);

void even_weights_free(even_shapes *shapes);

#endif
