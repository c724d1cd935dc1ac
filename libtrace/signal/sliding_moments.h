/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The low-order polynomial through a sliding window in a time that does not depend on the window's
 * length: sums of powers of time, kept up as samples come and go.
 *
 * Nothing is ever subtracted, so no error builds up and a spike leaves no trace behind.  The window
 * is cut at a boundary sample.  Of what lies before it, the sums from every sample up to the
 * boundary are kept; of what lies behind it, one running sum.  When the first part is used up the
 * boundary moves to the end of the window and its sums are made afresh: each sample is added twice
 * in all.  Powers are of the time from the boundary in units of the window's length, values are
 * relative to one of them.
 *
 * Source of the two parts: the queue of two stacks (Tangwongsan, Hirzel & Schneider 2017, 'Low-
 * latency sliding-window aggregation in worst-case constant time', DEBS, section 2); of the
 * solution: normal equations, accurate here because order and condition are kept low.
 */
#ifndef SHOT_SIGNAL_SLIDING_MOMENTS_H
#define SHOT_SIGNAL_SLIDING_MOMENTS_H

#include <stdbool.h>

#include <shottrace/signal/local_fit.h>
#include <shottrace/signal/sliding_window.h>

/* Beyond this order normal equations lose more than three digits. */
enum { MOMENTS_HIGHEST_ORDER = 3 };

typedef struct moments {
    double power[2 * MOMENTS_HIGHEST_ORDER + 1]; /* sums of x^k */
    double with[MOMENTS_HIGHEST_ORDER + 1];      /* sums of x^k (y - level) */
} moments;

/* A zeroed one, with its order filled in, is empty. */
typedef struct sliding_moments {
    size_t order;   /* <= MOMENTS_HIGHEST_ORDER */
    moments *front; /* sums over samples first.. up to the boundary   [room] */
    moments back;   /* sums from the boundary to `end` */
    size_t room;
    size_t first; /* the sample of front[0] */
    size_t boundary, end;
    double anchor, scale, level;
} sliding_moments;

void sliding_moments_reset(sliding_moments *sums);
void sliding_moments_free(sliding_moments *sums);

/* Move to the window of a view; windows must not move back.  SHOT_ERR_MEMORY. */
shot_status sliding_moments_follow(sliding_moments *sums, const shot_window_view *view);

/* A pivot of the normal equations compared with the diagonal it came from is what of that power the
 * lower ones cannot express: 1e-3 of it leaves errors near 1e-13. */
#define MOMENTS_LEAST_PIVOT 1e-3

/* The sums of one window. */
typedef struct window_moments {
    moments sum;
    double at; /* the place of the value that is wanted, as times in the sums */
    double scale, level;
} window_moments;

typedef struct moments_value {
    shot_local_fit_value is;
    bool good; /* false where the samples are too few, or placed so that more than three digits
                  would be lost: fit them afresh */
} moments_value;

/* The sums of the window that was followed last; wanted is its value at view->at. */
void sliding_moments_put(const sliding_moments *sums, const shot_window_view *view,
                         window_moments *out);

/* The polynomial's derivative (0 for its value). */
void sliding_moments_solve(const window_moments *window, size_t order, size_t derivative,
                           moments_value *found);

#endif
