/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A window that slides over a stream.  Samples are known by their number in the stream.  Windows
 * are [low, high) and move forward only. */
#include <shottrace/signal/sliding_window.h>

#include <float.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "intervals.h"
#include "missing.h"
#include "pair_queue.h"
#include "wide.h"
#include "window_batch.h"

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

/* ---- edges ---- */

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
static bool move_high_to(const shot_sliding_window *window, size_t high, span *edges) {
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
static bool move_to_start(const shot_sliding_window *window, span *edges) {
    const double length = window->reach.before + window->reach.after;
    if (window->samples.count == 0)
        return false;
    if (window->reach.samples)
        return move_high_to(window, (size_t)length + 1, edges);
    return move_high(window, window->start + length, slack(window->start, length), edges);
}

/* The window at the very end; false if it does not fit in. */
static bool move_to_end(const shot_sliding_window *window, span *edges) {
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
static bool begins_inside(const shot_sliding_window *window, double t, size_t passed) {
    const double reach = window->reach.before;
    if (window->samples.count == 0)
        return false;
    if (window->reach.samples)
        return (double)passed >= reach;
    return t - reach >= window->start - slack(t, reach);
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

/* The middle of a window at an end: in time, or the sample that is it. */
static double middle_of(const shot_sliding_window *window, span edges, double t) {
    return window->reach.samples ? time_of(window, edges.low + (size_t)window->reach.before) : t;
}

/* The window at the start serves all rows that it reaches before its middle, the one at the end all
 * after. */
static bool next_full(shot_sliding_window *window, const window_owner *row,
                      shot_window_view *view) {
    const shot_reach reach = window->reach;
    const double t = row->t;
    const span none = {window->now.low, window->now.low};
    if (!begins_inside(window, t, window->passed)) {
        const bool fits = move_to_start(window, &window->now);
        if (!fits && !window->finished)
            return false;
        const double middle =
            fits ? middle_of(window, window->now, window->start + reach.before) : t;
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
    const double end = time_of(window, window->samples.count - 1);
    deliver(window, row, fits ? window->now : none,
            fits ? middle_of(window, window->now, end - reach.after) : t, false, view);
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

/* ---- many windows at once ---- */

/* Of `most` rows from the next one on, those up to the first without a value. */
static size_t rows_with_value(const shot_sliding_window *window, size_t most) {
    const bool blank = window->blanks.base < window->blanks.count;
    const size_t end = blank ? (size_t)window->blanks.y[0] : window->samples.count;
    const size_t rows = end - window->passed;
    return rows < most ? rows : most;
}

/* The next row has this window, by numbers of samples. */
static void add_row(window_batch *batch, span edges) {
    const size_t low = edges.low - batch->first, high = edges.high - batch->first;
    window_stretch *last = &batch->stretch[batch->stretches - (batch->stretches > 0)];
    batch->rows++;
    if (batch->stretches > 0 && low == last->low + last->rows && high == last->high + last->rows)
        last->rows++;
    else
        batch->stretch[batch->stretches++] = (window_stretch){low, high, 1};
}

/* The same for rows behind it whose windows go on by a sample each. */
static void add_rows(window_batch *batch, size_t rows) {
    batch->rows += rows;
    batch->stretch[batch->stretches - 1].rows += rows;
}

/* Windows of so many samples; at most `most` rows, which all have values. */
static void find_counted(const shot_sliding_window *window, size_t most, window_batch *batch) {
    const size_t count = window->samples.count;
    const size_t before = (size_t)window->reach.before, after = (size_t)window->reach.after;
    const bool cut = window->ends == SHOT_ENDS_CUT, ended = cut && window->finished;
    const size_t known = count > window->passed + after ? count - window->passed - after : 0;
    const size_t rows = ended || most < known ? most : known;
    if (!cut && window->passed < before)
        return;
    while (batch->rows < rows) {
        const size_t own = window->passed + batch->rows, high = own + 1 + after;
        add_row(batch, (span){own > before ? own - before : 0, high < count ? high : count});
        const size_t left = rows - batch->rows, inside = high < count ? count - high : 0;
        if (own >= before)
            add_rows(batch, left < inside ? left : inside);
    }
}

enum { STEPS = 8 }; /* rows looked at together */

/* Whether the windows of so many rows, at times t[], go on by a sample each from that of the row
 * before them, which begins with sample low[0] and ends before sample high[0]: each edge moves past
 * one sample and stops there, as move_low and move_high would find. */
SHOT_INLINE bool step_on(const double *t, const double *low, const double *high, size_t steps,
                         shot_reach reach) {
    double off = 0;
#pragma omp simd reduction(+ : off)
    for (size_t i = 0; i < steps; i++) {
        const double begin = t[i] - reach.before - slack(t[i], reach.before);
        const double end = t[i] + reach.after, margin = slack(t[i], reach.after);
        const bool begins = (low[i] < begin) & (low[i + 1] >= begin);
        const bool goes_on = (high[i] <= end + margin) & (high[(ptrdiff_t)i - 1] < end - margin);
        const bool closes = (high[i] >= end - margin) | (high[i + 1] > end + margin);
        off += begins & goes_on & closes ? 0 : 1;
    }
    return off == 0;
}

/* How many of the next rows, at times t[0..most-1], have windows that go on by a sample each from
 * the edges of the row before them: few or, where the samples are even, all. */
SHOT_WIDE static size_t rows_in_step(const double *t, size_t most, const double *low,
                                     const double *high, const shot_reach *reach) {
    size_t rows = 0;
    if (most > STEPS && step_on(t, low, high, STEPS, *reach) &&
        step_on(t + STEPS, low + STEPS, high + STEPS, most - STEPS, *reach))
        return most;
    while (rows + STEPS <= most && step_on(t + rows, low + rows, high + rows, STEPS, *reach))
        rows += STEPS;
    while (rows < most && step_on(t + rows, low + rows, high + rows, 1, *reach))
        rows++;
    return rows;
}

/* Windows in time.  The edges only move forward, from one row's to the next one's. */
static void find_timed(const shot_sliding_window *window, size_t most, window_batch *batch) {
    const bool cut = window->ends == SHOT_ENDS_CUT, ended = cut && window->finished;
    const double *t = window->samples.t + (window->passed - window->samples.base); /* of the rows */
    span edges = window->now;
    if (!cut && !begins_inside(window, t[0], window->passed))
        return;
    while (batch->rows < most) {
        const size_t row = batch->rows;
        if (!move_to(window, t[row], window->passed + row, 1, &edges) && !ended)
            return;
        add_row(batch, edges);
        const size_t left = most - batch->rows, behind = window->samples.count - edges.high;
        if (batch->stretch[batch->stretches - 1].rows == 1 || behind < 2)
            continue;
        const double *low = window->samples.t + (edges.low - window->samples.base);
        const double *high = window->samples.t + (edges.high - window->samples.base);
        const size_t more = rows_in_step(t + batch->rows, left < behind - 1 ? left : behind - 1,
                                         low, high, &window->reach);
        add_rows(batch, more);
        edges = (span){edges.low + more, edges.high + more};
    }
}

size_t window_batch_find(shot_sliding_window *window, size_t most, window_batch *batch) {
    const size_t rows = rows_with_value(window, most < WINDOW_BATCH ? most : WINDOW_BATCH);
    batch->t = window->samples.t;
    batch->y = window->samples.y;
    batch->first = window->samples.base;
    batch->own = window->passed - window->samples.base;
    batch->rows = batch->stretches = 0;
    if (rows > 0 && window->reach.samples)
        find_counted(window, rows, batch);
    else if (rows > 0)
        find_timed(window, rows, batch);
    return batch->rows;
}

size_t window_batch_number(const shot_sliding_window *window) {
    return window->passed;
}

void window_batch_row(const shot_sliding_window *window, size_t ahead, double *t, double *y) {
    const size_t place = window->passed + ahead - window->samples.base;
    *t = window->samples.t[place];
    *y = window->samples.y[place];
}

void window_batch_pass(shot_sliding_window *window, const window_batch *batch, size_t rows) {
    const size_t end = batch->first + batch->own + rows;
    window_row last = window_batch_begin(batch);
    if (rows == 0 || end <= window->passed)
        return;
    window_row_move(&last, rows - 1);
    const size_t low = batch->first + last.stretch->low + last.at;
    window->now = (span){low, batch->first + last.stretch->high + last.at};
    window->passed = end;
    const size_t needed = low < end - 1 ? low : end - 1;
    if (needed > window->samples.base)
        pair_queue_drop(&window->samples, needed);
}
