/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which samples lie around each row: a window that slides over a stream, by count or by time, for
 * the filters that work in one.
 *
 *     const shot_reach reach = {.before = 0.35, .after = 0.35};       0.7 s
 *     shot_sliding_window *window;
 *     shot_sliding_window_new(reach, SHOT_ENDS_FULL, SHOT_MISSING_SKIPPED, &window);
 *     for each row:
 *         shot_sliding_window_push(window, t, y);
 *         while (shot_sliding_window_next(window, &view))
 *             use view.t[0..view.n-1], view.y[0..view.n-1] for the row at view.at
 *     shot_sliding_window_finish(window);
 *     while (shot_sliding_window_next(window, &view)) ...
 *     shot_sliding_window_free(window);
 *
 * Every row that is pushed comes out once, in order, as soon as its window is known.  A row may
 * lack a value (NaN); only samples, rows that have one, lie in windows and are counted.  So a
 * channel that has a value in every second row has the same windows as if the other rows were not
 * there. What lies in a window depends on the rows alone, never on when they were pushed or asked
 * for.
 *
 * An edge that falls on a sample belongs to the window.  Stamps that miss the edge by a millionth
 * of the reach, or by their own rounding, still do: so a window of 0.7 s on a grid of 0.1 s has 7
 * samples everywhere.
 */
#ifndef SHOTTRACE_SIGNAL_SLIDING_WINDOW_H
#define SHOTTRACE_SIGNAL_SLIDING_WINDOW_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* How far a window reaches before and after its row: seconds, or whole numbers of samples. */
typedef struct shot_reach {
    double before, after; /* >= 0, finite */
    bool samples;
} shot_reach;

typedef enum shot_ends {
    SHOT_ENDS_CUT, /* near an end the window is what is left of it */
    SHOT_ENDS_FULL /* near an end the window is the full length at the very start or end of the
                      samples, for a method that can be evaluated off the middle; none where they
                      are fewer or shorter than a window */
} shot_ends;

typedef enum shot_missing {
    SHOT_MISSING_SKIPPED, /* a row without a value needs no window: it waits for none */
    SHOT_MISSING_SERVED   /* it gets one like the others */
} shot_missing;

typedef struct shot_window_view {
    const double *t, *y; /* the samples in the window [n]; valid until the next call */
    size_t n;            /* 0: there is no window, or no sample in it */
    size_t first;        /* the number of t[0] among the samples of the stream, from 0 */
    size_t own;          /* the index of the row's own sample in t and y; n if it has no value */
    double at, value;    /* time and value of the row */
    double middle;       /* s: the middle of the window; `at` unless it was moved inside an end */
    bool centred;        /* the window is the row's own, in full */
    size_t known;        /* so many samples, from the start of the stream, had to come before the
                            window of a sample was known, where so many came */
} shot_window_view;

typedef struct shot_sliding_window shot_sliding_window;

/* Free with shot_sliding_window_free.  The memory grows to twice the largest window, and the rows
 * that wait, that it meets.  SHOT_ERR_RANGE for a reach that is negative, not finite or, in
 * samples, not whole; SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_sliding_window_new(shot_reach reach, shot_ends ends, shot_missing missing,
                                             shot_sliding_window **out);

/* Add a row: t finite and not before the last, y NaN where missing.
 * SHOT_ERR_DATA for a time that falls or is not finite; SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_sliding_window_push(shot_sliding_window *window, double t, double y);

/* Add n rows at once, in less time than one by one; all or, after SHOT_ERR_DATA, none. */
SHOT_API shot_status shot_sliding_window_push_block(shot_sliding_window *window, const double *t,
                                                    const double *y, size_t n);

/* There are no more rows: the windows that waited for some become known. */
SHOT_API void shot_sliding_window_finish(shot_sliding_window *window);

/* The next row's window, in the order of the rows; false if it is not known yet. */
SHOT_API bool shot_sliding_window_next(shot_sliding_window *window, shot_window_view *view);

/* Forget all rows and start over; the memory is kept. */
SHOT_API void shot_sliding_window_reset(shot_sliding_window *window);

SHOT_API void shot_sliding_window_free(shot_sliding_window *window);

#ifdef __cplusplus
}
#endif
#endif
