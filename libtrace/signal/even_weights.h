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

/* Those of the windows at the ends of a stream, one for each place that the sample has in it: they
 * come with every shot again. */
enum { EVEN_ENDS_LONGEST = 64 };

/* A zeroed one is empty. */
typedef struct even_ends {
    even_weights *of; /* by the place of the sample   owned [n] */
    size_t n;
} even_ends;

/* Those that are kept for a window, or NULL.
 *   taper  in samples */
const even_weights *even_weights_find(const even_shapes *shapes, const shot_window_view *view,
                                      double taper);

/* New ones of a derivative, which take the place of the oldest; `fit` is used for them.
 * SHOT_ERR_MEMORY. */
shot_status even_weights_make(even_shapes *shapes, const shot_window_view *view, double taper,
                              size_t derivative, shot_local_fit *fit, const even_weights **out);

void even_weights_free(even_shapes *shapes);

/* Those of a window at an end without a taper, at most EVEN_ENDS_LONGEST samples, one of which is
 * its own; made with `fit`, which then holds another fit, where they are not there yet: *made.
 * SHOT_ERR_MEMORY. */
shot_status even_ends_find(even_ends *ends, const shot_window_view *view, size_t derivative,
                           shot_local_fit *fit, const even_weights **out, bool *made);

void even_ends_free(even_ends *ends);

#endif
