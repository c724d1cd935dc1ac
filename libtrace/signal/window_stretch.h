/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Many windows of a stream at once: where consecutive rows are samples and each window is the one
 * before it moved on by one sample, as it is almost everywhere, the windows need not be asked for
 * one by one.  What follows is the same as from shot_sliding_window_next. */
#ifndef SHOT_SIGNAL_WINDOW_STRETCH_H
#define SHOT_SIGNAL_WINDOW_STRETCH_H

#include <shottrace/signal/sliding_window.h>

/* How many rows from the next one on have full windows that are known and differ by one sample
 * each; *view is that of the first.  0 where shot_sliding_window_next must be asked.  The samples
 * behind the view's last belong to the windows that follow. */
size_t window_stretch_find(shot_sliding_window *window, shot_window_view *view);

/* The view of the row after the one of *view, in a stretch that goes on. */
static inline void window_stretch_next(shot_window_view *view) {
    view->t++;
    view->y++;
    view->first++;
    view->at = view->middle = view->t[view->own];
    view->value = view->y[view->own];
}

/* Pass over `rows` of the rows found, at least one; views stay valid until the next push. */
void window_stretch_pass(shot_sliding_window *window, size_t rows);

#endif
