/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Many windows of a stream at once, in less time than one by one; what follows is the same as from
 * shot_sliding_window_next. */
#ifndef SHOT_SIGNAL_WINDOW_BATCH_H
#define SHOT_SIGNAL_WINDOW_BATCH_H

#include <shottrace/signal/sliding_window.h>

enum { WINDOW_BATCH = 512 };

/* Rows whose windows go on by a sample from each to the next, or that have one in common. */
typedef struct window_stretch {
    size_t low, high; /* the window of the first row: samples [low, high), by places in t and y */
    size_t rows;
    bool stays;    /* it is that of all rows, near an end ... */
    double middle; /* ... and this its middle, as in shot_window_view */
} window_stretch;

/* Windows of consecutive samples. */
typedef struct window_batch {
    const double *t, *y; /* samples, valid until the next push */
    size_t first;        /* the number of t[0] among the samples of the stream */
    size_t own;          /* the place of the first row's own sample; those of the others follow */
    size_t rows, stretches;
    window_stretch stretch[WINDOW_BATCH]; /* [stretches]: of the rows in turn */
} window_batch;

/* The windows of the next rows, at most `most`, that are known, lie in full within the samples, be
 * it that of an end (SHOT_ENDS_FULL), and belong to samples; how many.  Where there is none, but
 * rows are pending, shot_sliding_window_next must be asked. */
size_t window_batch_find(shot_sliding_window *window, size_t most, window_batch *batch);

/* The number of the sample that the next row is, if it is one. */
size_t window_batch_number(const shot_sliding_window *window);

/* Time and value of the row that is `ahead` rows after the next one. */
void window_batch_row(const shot_sliding_window *window, size_t ahead, double *t, double *y);

/* Pass over the first `rows` of the rows found, some of which may have gone already. */
void window_batch_pass(shot_sliding_window *window, const window_batch *batch, size_t rows);

/* A row of a batch. */
typedef struct window_row {
    const window_stretch *stretch;
    size_t at;  /* its place in the stretch */
    size_t row; /* and among all */
} window_row;

static inline window_row window_batch_begin(const window_batch *batch) {
    return (window_row){batch->stretch, 0, 0};
}

/* So many rows on; behind the last one nothing but `row` may be asked for. */
static inline void window_row_move(window_row *row, size_t rows) {
    row->row += rows;
    row->at += rows;
    while (row->at > 0 && row->at >= row->stretch->rows)
        row->at -= row->stretch++->rows;
}

/* The first sample of its window, and how many it has. */
static inline size_t window_row_low(const window_row *row) {
    return row->stretch->low + (row->stretch->stays ? 0 : row->at);
}

static inline size_t window_row_samples(const window_row *row) {
    return row->stretch->high - row->stretch->low;
}

/* Its window; `known` is not told. */
static inline shot_window_view window_batch_view(const window_batch *batch, const window_row *row) {
    const window_stretch *stretch = row->stretch;
    const size_t low = window_row_low(row), own = batch->own + row->row;
    return (shot_window_view){.t = batch->t + low,
                              .y = batch->y + low,
                              .n = window_row_samples(row),
                              .first = batch->first + low,
                              .own = own - low,
                              .at = batch->t[own],
                              .value = batch->y[own],
                              .middle = stretch->stays ? stretch->middle : batch->t[own],
                              .centred = !stretch->stays};
}

#endif
