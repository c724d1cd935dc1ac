/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The weights by which the samples of an even window make the value of its polynomial.  A few
 * shapes of windows are kept, since a window in time that ends beside a hole is even too. */
#ifndef SHOT_SIGNAL_EVEN_WEIGHTS_H
#define SHOT_SIGNAL_EVEN_WEIGHTS_H

#include <shottrace/signal/local_fit.h>
#include <shottrace/signal/sliding_window.h>

/* The weights of an even window, and for what they hold. */
typedef struct even_weights {
    double *weight; /* for spacing 1   [room] */
    double *place;  /* -centre, ..., 0, 1, ...  [room], in the same allocation */
    size_t room;
    size_t n, centre; /* window and the place of its sample; n 0: none yet */
    double taper;     /* in samples */
    double gain;      /* for spacing 1 */
} even_weights;

enum { EVEN_KEPT = 8 };

/* A zeroed one is empty. */
typedef struct even_shapes {
    even_weights kept[EVEN_KEPT];
    size_t next; /* the one to give way */
} even_shapes;

/* Those that are kept for a window, or NULL.
 *   taper  in samples */
const even_weights *even_weights_find(const even_shapes *shapes, const shot_window_view *view,
                                      double taper);

/* New ones of a derivative, which take the place of the oldest; `fit` is used for them.
 * SHOT_ERR_MEMORY. */
shot_status even_weights_make(even_shapes *shapes, const shot_window_view *view, double taper,
                              size_t derivative, shot_local_fit *fit, const even_weights **out);

void even_weights_free(even_shapes *shapes);

#endif
