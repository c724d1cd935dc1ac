/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Many windows of a stream at once, in less time than one by one; what follows is the same as from
 * shot_sliding_window_next. */
#ifndef SHOT_SIGNAL_WINDOW_BATCH_H
#define SHOT_SIGNAL_WINDOW_BATCH_H

#include <shottrace/signal/sliding_window.h>

enum { WINDOW_BATCH = 256 };

/* Windows [low, high) of consecutive samples, by places in t and y. */
typedef struct window_batch {
    const double *t, *y; /* samples, valid until the next push */
    size_t first;        /* the number of t[0] among the samples of the stream */
    size_t own;          /* the place of the first row's own sample; those of the others follow */
    size_t rows;
    size_t low[WINDOW_BATCH], high[WINDOW_BATCH]; /* [rows] */
} window_batch;

/* The windows of the next rows, at most `most`, that are known, lie in full within the samples
 * (SHOT_ENDS_FULL) and belong to samples; how many.  Where there is none, but rows are pending,
 * shot_sliding_window_next must be asked. */
size_t window_batch_find(shot_sliding_window *window, size_t most, window_batch *batch);

/* The number of the sample that the next row is, if it is one. */
size_t window_batch_number(const shot_sliding_window *window);

/* Time and value of the row that is `ahead` rows after the next one. */
void window_batch_row(const shot_sliding_window *window, size_t ahead, double *t, double *y);

/* Pass over the first `rows` of the rows found, some of which may have gone already. */
void window_batch_pass(shot_sliding_window *window, const window_batch *batch, size_t rows);

/* The window of one of its rows; `known` is not told. */
static inline shot_window_view window_batch_view(const window_batch *batch, size_t row) {
    const size_t low = batch->low[row], own = batch->own + row;
    return (shot_window_view){.t = batch->t + low,
                              .y = batch->y + low,
                              .n = batch->high[row] - low,
                              .first = batch->first + low,
                              .own = own - low,
                              .at = batch->t[own],
                              .value = batch->y[own],
                              .middle = batch->t[own],
                              .centred = true};
}

#endif
