/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Many windows of a stream at once. */
#include "window_batch.h"

#include <stdint.h>

#include "wide.h"
#include "window_edges.h"

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
    if (batch->stretches > 0 && !last->stays && low == last->low + last->rows &&
        high == last->high + last->rows)
        last->rows++;
    else
        batch->stretch[batch->stretches++] = (window_stretch){.low = low, .high = high, .rows = 1};
}

/* The same for rows behind it whose windows go on by a sample each. */
static void add_rows(window_batch *batch, size_t rows) {
    batch->rows += rows;
    batch->stretch[batch->stretches - 1].rows += rows;
}

/* So many rows near an end have this window. */
static void add_end(window_batch *batch, span edges, double middle, size_t rows) {
    batch->rows += rows;
    batch->stretch[batch->stretches++] = (window_stretch){.low = edges.low - batch->first,
                                                          .high = edges.high - batch->first,
                                                          .rows = rows,
                                                          .stays = true,
                                                          .middle = middle};
}

/* Those of `most` rows, which all have values, whose window is the one at the start. */
static void find_start(const shot_sliding_window *window, size_t most, window_batch *batch) {
    span edges = window->now;
    size_t rows = 0;
    while (rows < most &&
           !begins_inside(window, batch->t[batch->own + rows], window->passed + rows))
        rows++;
    if (rows > 0 && move_to_start(window, &edges))
        add_end(batch, edges, middle_at_start(window, edges), rows);
}

/* The rest of them, when there are no more samples. */
static void find_end(const shot_sliding_window *window, size_t most, window_batch *batch) {
    span edges = window->now;
    if (window->finished && batch->rows < most && move_to_end(window, &edges))
        add_end(batch, edges, middle_at_end(window, edges), most - batch->rows);
}

/* Windows of so many samples; at most `most` rows, which all have values. */
static void find_counted(const shot_sliding_window *window, size_t most, window_batch *batch) {
    const size_t count = window->samples.count;
    const size_t before = (size_t)window->reach.before, after = (size_t)window->reach.after;
    const bool cut = window->ends == SHOT_ENDS_CUT, ended = cut && window->finished;
    const size_t known = count > window->passed + after ? count - window->passed - after : 0;
    const size_t rows = ended || most < known ? most : known;
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
    int64_t off = 0; /* as wide as what is compared */
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
    if (batch->stretches > 0) /* the window at the start */
        edges.high = batch->first + batch->stretch[0].high;
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

/* Those of `most` rows, which all have values. */
static void find_windows(const shot_sliding_window *window, size_t most, window_batch *batch) {
    const bool full = window->ends == SHOT_ENDS_FULL;
    if (full && !begins_inside(window, batch->t[batch->own], window->passed)) {
        find_start(window, most, batch);
        if (batch->rows == 0)
            return;
    }
    if (window->reach.samples)
        find_counted(window, most, batch);
    else
        find_timed(window, most, batch);
    if (full)
        find_end(window, most, batch);
}

size_t window_batch_find(shot_sliding_window *window, size_t most, window_batch *batch) {
    const size_t rows = rows_with_value(window, most < WINDOW_BATCH ? most : WINDOW_BATCH);
    batch->t = window->samples.t;
    batch->y = window->samples.y;
    batch->first = window->samples.base;
    batch->own = window->passed - window->samples.base;
    batch->rows = batch->stretches = 0;
    if (rows > 0)
        find_windows(window, rows, batch);
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
    const size_t low = batch->first + window_row_low(&last);
    window->now = (span){low, low + window_row_samples(&last)};
    window->passed = end;
    const size_t needed = low < end - 1 ? low : end - 1;
    if (needed > window->samples.base)
        pair_queue_drop(&window->samples, needed);
}
