/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A window that slides over a stream.  Samples are known by their number in the stream.  Windows
 * are [low, high) and move forward only. */
#include <shottrace/signal/sliding_window.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "intervals.h"
#include "missing.h"
#include "window_edges.h"

static bool is_reach(double length, bool samples) {
    return length >= 0 && isfinite(length) &&
           (!samples || (length == floor(length) && length < (double)(SIZE_MAX / 4)));
}

shot_status shot_sliding_window_new(shot_reach reach, shot_ends ends, shot_missing missing,
                                    shot_sliding_window **out) {
    *out = NULL;
    if (!is_reach(reach.before, reach.samples) || !is_reach(reach.after, reach.samples))
        return SHOT_ERR_RANGE;
    shot_sliding_window *window = calloc(1, sizeof *window);
    if (window == NULL)
        return SHOT_ERR_MEMORY;
    window->reach = reach;
    window->ends = ends;
    window->missing = missing;
    shot_sliding_window_reset(window);
    *out = window;
    return SHOT_OK;
}

void shot_sliding_window_free(shot_sliding_window *window) {
    if (window == NULL)
        return;
    pair_queue_free(&window->samples);
    pair_queue_free(&window->blanks);
    free(window);
}

void shot_sliding_window_reset(shot_sliding_window *window) {
    pair_queue_clear(&window->samples);
    pair_queue_clear(&window->blanks);
    window->passed = 0;
    window->now = (span){0, 0};
    window->latest = -INFINITY;
    window->finished = false;
}

static shot_status push_blank(shot_sliding_window *window, double t) {
    return pair_queue_push(&window->blanks, t, (double)window->samples.count);
}

shot_status shot_sliding_window_push(shot_sliding_window *window, double t, double y) {
    if (!isfinite(t) || t < window->latest)
        return SHOT_ERR_DATA;
    window->latest = t;
    if (isnan(y))
        return push_blank(window, t);
    if (window->samples.count == 0)
        window->start = t;
    return pair_queue_push(&window->samples, t, y);
}

static shot_status push_samples(shot_sliding_window *window, const double *t, const double *y,
                                size_t n) {
    if (n > 0 && window->samples.count == 0)
        window->start = t[0];
    return pair_queue_append(&window->samples, t, y, n);
}

shot_status shot_sliding_window_push_block(shot_sliding_window *window, const double *t,
                                           const double *y, size_t n) {
    if (n == 0)
        return SHOT_OK;
    if (!(t[0] >= window->latest && times_do_not_fall(t, n)))
        return SHOT_ERR_DATA;
    window->latest = t[n - 1];
    if (!any_missing(y, n))
        return push_samples(window, t, y, n);
    for (size_t from = 0, to; from < n; from = to + 1) {
        for (to = from; to < n && !isnan(y[to]); to++) {
        }
        SHOT_TRY(push_samples(window, t + from, y + from, to - from));
        if (to < n)
            SHOT_TRY(push_blank(window, t[to]));
    }
    return SHOT_OK;
}

void shot_sliding_window_finish(shot_sliding_window *window) {
    window->finished = true;
}

/* ---- delivery ---- */

/* A row to deliver. */
typedef struct window_owner {
    double t, value;
    bool is_sample;
} window_owner;

static bool is_blank_next(const shot_sliding_window *window) {
    return window->blanks.base < window->blanks.count &&
           window->blanks.y[0] == (double)window->passed;
}

/* The next row; false if none has come. */
static bool next_owner(const shot_sliding_window *window, window_owner *row) {
    if (is_blank_next(window)) {
        *row = (window_owner){window->blanks.t[0], NAN, false};
        return true;
    }
    if (window->passed == window->samples.count)
        return false;
    const size_t place = window->passed - window->samples.base;
    *row = (window_owner){window->samples.t[place], window->samples.y[place], true};
    return true;
}

/* How many samples had come when the window of a row became known: those in it, and the first one
 * behind it where none lies on its edge. */
static size_t known_from(const shot_sliding_window *window, double t, size_t high, bool own) {
    const shot_reach reach = window->reach;
    if (reach.samples)
        return window->passed + own + (size_t)reach.after;
    const bool on_edge = high > window->samples.base &&
                         time_of(window, high - 1) >= t + reach.after - slack(t, reach.after);
    return on_edge ? high : high + 1;
}

/* Hand out the window of the next row and let the samples go that no later one needs. */
static void deliver(shot_sliding_window *window, const window_owner *row, span edges, double middle,
                    bool centred, shot_window_view *view) {
    const size_t low = edges.low < window->samples.count ? edges.low : window->samples.count;
    const size_t needed = low < window->passed ? low : window->passed;
    if (edges.high > edges.low && needed > window->samples.base)
        pair_queue_drop(&window->samples, needed);
    const size_t n = edges.high - edges.low, offset = low - window->samples.base;
    *view = (shot_window_view){
        .t = n > 0 ? window->samples.t + offset : NULL,
        .y = n > 0 ? window->samples.y + offset : NULL,
        .n = n,
        .first = low,
        .own = row->is_sample && n > 0 ? window->passed - low : n,
        .at = row->t,
        .value = row->value,
        .middle = middle,
        .centred = centred,
        .known = known_from(window, row->t, edges.high, row->is_sample),
    };
    if (row->is_sample)
        window->passed++;
    else
        pair_queue_drop(&window->blanks, window->blanks.base + 1);
}

static bool next_cut(shot_sliding_window *window, const window_owner *row, shot_window_view *view) {
    const bool closed = move_to(window, row->t, window->passed, row->is_sample, &window->now);
    if (!closed && !window->finished)
        return false;
    const bool centred = closed && begins_inside(window, row->t, window->passed);
    deliver(window, row, window->now, row->t, centred, view);
    return true;
}

/* The window at the start serves all rows that it reaches before its middle, the one at the end all
 * after. */
static bool next_full(shot_sliding_window *window, const window_owner *row,
                      shot_window_view *view) {
    const double t = row->t;
    const span none = {window->now.low, window->now.low};
    if (!begins_inside(window, t, window->passed)) {
        const bool fits = move_to_start(window, &window->now);
        if (!fits && !window->finished)
            return false;
        const double middle = fits ? middle_at_start(window, window->now) : t;
        deliver(window, row, fits ? window->now : none, middle, false, view);
        return true;
    }
    span edges = window->now;
    if (move_to(window, t, window->passed, row->is_sample, &edges)) {
        window->now = edges;
        deliver(window, row, edges, t, true, view);
        return true;
    }
    if (!window->finished)
        return false;
    const bool fits = move_to_end(window, &window->now);
    deliver(window, row, fits ? window->now : none, fits ? middle_at_end(window, window->now) : t,
            false, view);
    return true;
}

bool shot_sliding_window_next(shot_sliding_window *window, shot_window_view *view) {
    window_owner row;
    if (!next_owner(window, &row))
        return false;
    if (!row.is_sample && window->missing == SHOT_MISSING_SKIPPED) {
        deliver(window, &row, (span){window->passed, window->passed}, row.t, false, view);
        return true;
    }
    return window->ends == SHOT_ENDS_CUT ? next_cut(window, &row, view)
                                         : next_full(window, &row, view);
}
