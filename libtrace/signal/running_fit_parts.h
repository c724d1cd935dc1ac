/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the ways of a running fit share, for one row and for many. */
#ifndef SHOT_SIGNAL_RUNNING_FIT_PARTS_H
#define SHOT_SIGNAL_RUNNING_FIT_PARTS_H

#include <shottrace/signal/running_fit.h>

#include "even_weights.h"
#include "signal/fit_noise.h"
#include "sliding_moments.h"

struct shot_running_fit {
    shot_running_fit_rule rule;
    shot_sliding_window *window;
    shot_local_fit *fit, *first; /* first: of the window at the start, whose basis is kept */
    sliding_moments sums;
    even_shapes own, *even; /* even: our own, or those of another fit */
    size_t seen;            /* samples whose times were looked at */
    size_t uneven;          /* the last of these not half way between its neighbours, plus 1 */
    size_t moved;           /* the last of these whose value is not that of the one before it */
    size_t fitted;       /* the first sample of the window that `fit` holds, plus 1; 0: another */
    size_t first_fitted; /* the same for `first` */
    fit_noise noise;
};

/* Take the weights of even windows from where `with` has them, which has the same rule and lives as
 * long: they are then found once, and what several channels take in turn stays near. */
void running_fit_share(shot_running_fit *fit, const shot_running_fit *with);

/* Look at the samples that a window brings anew. */
void running_fit_look(shot_running_fit *fit, const shot_window_view *view);

/* All values of a window that was looked at are the same; what that makes of its result. */
bool running_fit_is_flat(const shot_running_fit *fit, const shot_window_view *view);
void running_fit_settle_flat(const shot_running_fit *fit, const shot_window_view *view,
                             shot_local_fit_value *out);

/* Whether a window that was looked at lies on an even grid, but for a hole of which weights are
 * kept; how. */
bool running_fit_shape(const shot_running_fit *fit, const shot_window_view *view, even_shape *out);

/* The same for one at an end, where weights of even windows are kept. */
bool running_fit_end_shape(const shot_running_fit *fit, const shot_window_view *view,
                           even_shape *out);

/* The weights of a shape.  SHOT_ERR_MEMORY. */
shot_status running_fit_weights(shot_running_fit *fit, const even_shape *shape,
                                const even_weights **out);

/* The result of a window of this shape.  SHOT_ERR_MEMORY. */
shot_status running_fit_even(shot_running_fit *fit, const shot_window_view *view,
                             const even_shape *shape, shot_local_fit_value *out);

/* Whether windows that are not even go by sums; what these tell of one, or a fit of its own where
 * that would be too little.  SHOT_ERR_MEMORY. */
bool running_fit_goes_by_sums(const shot_running_fit *fit);
shot_status running_fit_take_found(shot_running_fit *fit, const shot_window_view *view,
                                   const moments_value *found, shot_local_fit_value *out);

/* The result of a row that is wanted, whose window was looked at.  SHOT_ERR_MEMORY. */
shot_status running_fit_row(shot_running_fit *fit, const shot_window_view *view,
                            shot_local_fit_value *out);

#endif
