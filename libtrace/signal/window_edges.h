/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a sliding window keeps, and where the edges of a row's window lie.  Edges only move forward,
 * from one row's to the next one's. */
#ifndef SHOT_SIGNAL_WINDOW_EDGES_H
#define SHOT_SIGNAL_WINDOW_EDGES_H

#include <float.h>
#include <math.h>

#include <shottrace/signal/sliding_window.h>

#include "inline.h"
#include "pair_queue.h"

/* Samples [low, high), by their numbers in the stream. */
typedef struct span {
    size_t low, high;
} span;

struct shot_sliding_window {
    shot_reach reach;
    shot_ends ends;
    shot_missing missing;
    pair_queue samples; /* those that windows still need, or that are to be delivered */
    pair_queue blanks;  /* rows without a value to deliver: time, and number of the next sample */
    size_t passed;      /* samples before the row to deliver */
    span now;           /* the last window found */
    double start;       /* time of sample 0 */
    double latest;      /* time of the last row */
    bool finished;
};

SHOT_INLINE double time_of(const shot_sliding_window *window, size_t sample) {
    return window->samples.t[sample - window->samples.base];
}

/* By how much a stamp may miss the edge at a distance of `reach`. */
SHOT_INLINE double slack(double t, double reach) {
    const double of_reach = 1e-6 * reach, of_stamp = 2 * DBL_EPSILON * fabs(t);
    return of_reach > of_stamp ? of_reach : of_stamp;
}

/* Move the low edge forward to the first sample at or after a time. */
SHOT_INLINE void move_low(const shot_sliding_window *window, double edge, span *edges) {
    while (edges->low < window->samples.count && time_of(window, edges->low) < edge)
        edges->low++;
}

/* Move the high edge forward to behind the last sample up to a time; false while that is not
 * known.  A sample within the margin of the edge closes the window, as does a row beyond: it need
 * not wait for the next sample. */
SHOT_INLINE bool move_high(const shot_sliding_window *window, double edge, double margin,
                           span *edges) {
    for (; edges->high < window->samples.count; edges->high++) {
        if (edges->high > 0 && time_of(window, edges->high - 1) >= edge - margin)
            return true;
        if (time_of(window, edges->high) > edge + margin)
            return true;
    }
    return window->latest > edge + margin ||
           (edges->high > 0 && time_of(window, edges->high - 1) >= edge - margin);
}

/* The same for a number of samples. */
SHOT_INLINE bool move_high_to(const shot_sliding_window *window, size_t high, span *edges) {
    const size_t count = window->samples.count;
    edges->high = high < count ? high : count;
    return high <= count;
}

/* The window of a row at time t that `passed` samples precede, cut at the ends; `own` is 1 if the
 * row is a sample, else 0.  False if its high edge is not known. */
SHOT_INLINE bool move_to(const shot_sliding_window *window, double t, size_t passed, size_t own,
                         span *edges) {
    const shot_reach reach = window->reach;
    if (reach.samples) {
        const size_t before = (size_t)reach.before;
        edges->low = passed > before ? passed - before : 0;
        return move_high_to(window, passed + own + (size_t)reach.after, edges);
    }
    if (edges->high < passed + own)
        edges->high = passed + own;
    const bool closed = move_high(window, t + reach.after, slack(t, reach.after), edges);
    move_low(window, t - reach.before - slack(t, reach.before), edges);
    return closed;
}

/* The window at the very start; false while it is not known to fit in. */
SHOT_INLINE bool move_to_start(const shot_sliding_window *window, span *edges) {
    const double length = window->reach.before + window->reach.after;
    if (window->samples.count == 0)
        return false;
    if (window->reach.samples)
        return move_high_to(window, (size_t)length + 1, edges);
    return move_high(window, window->start + length, slack(window->start, length), edges);
}

/* The window at the very end; false if it does not fit in. */
SHOT_INLINE bool move_to_end(const shot_sliding_window *window, span *edges) {
    const double length = window->reach.before + window->reach.after;
    const size_t count = window->samples.count;
    if (count == 0 || (window->reach.samples && (double)count < length + 1))
        return false;
    const double t = time_of(window, count - 1);
    if (!window->reach.samples && t - window->start < length - slack(t, length))
        return false;
    edges->high = count;
    if (window->reach.samples)
        edges->low = count - 1 - (size_t)length;
    else
        move_low(window, t - length - slack(t, length), edges);
    return true;
}

/* Whether the window of the row at time t that `passed` samples precede begins within the samples.
 */
SHOT_INLINE bool begins_inside(const shot_sliding_window *window, double t, size_t passed) {
    const double reach = window->reach.before;
    if (window->samples.count == 0)
        return false;
    if (window->reach.samples)
        return (double)passed >= reach;
    return t - reach >= window->start - slack(t, reach);
}

/* The middle of a window at an end: in time, or the sample that is it. */
SHOT_INLINE double middle_of(const shot_sliding_window *window, span edges, double t) {
    return window->reach.samples ? time_of(window, edges.low + (size_t)window->reach.before) : t;
}

SHOT_INLINE double middle_at_start(const shot_sliding_window *window, span edges) {
    return middle_of(window, edges, window->start + window->reach.before);
}

SHOT_INLINE double middle_at_end(const shot_sliding_window *window, span edges) {
    const double end = time_of(window, window->samples.count - 1);
    return middle_of(window, edges, end - window->reach.after);
}

#endif
