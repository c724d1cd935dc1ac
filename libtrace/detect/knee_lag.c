/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "detect/knee_lag.h"

#include <math.h>

/* Correlation of rows side by side from which a logger is taken to smooth: a limit of our own.
 * White noise with as much of 1/f correlates by 0.35 in 256 rows and by 0.41 in 16,384 (the mean
 * cosine over its spectrum); 1/f alone by 0.70 and 0.83, and widens the intervals in vain. */
static const double smoothed = 0.7;

/* Standard errors of a value. */
static const double SURE = 2;

/* The longest time constant of a filter of first order with which the channel can fall as it does:
 * behind such a filter it nears the least that its gauge stood at no faster than
 * exp(-t / constant). */
static double longest_filter(const shot_channel_view *view) {
    const double *t = view->t, *y = view->y, noise = SURE * view->noise.sd;
    double rest = INFINITY, longest = INFINITY;
    for (size_t i = 0; i < view->n; i++)
        rest = fmin(rest, y[i]);
    for (size_t i = 1; i < view->n; i++) {
        const double share = (y[i - 1] - rest - noise) / (y[i] - rest + noise);
        if (share > 1)
            longest = fmin(longest, (t[i] - t[i - 1]) / log(share));
    }
    return longest;
}

/* A filter of first order colours white noise over its time constant (Box & Jenkins 1976, 'Time
 * Series Analysis', ch. 3, from memory).  It is late by that time, and a knee by that at most: how
 * late follows from how sharp it was. */
void shot_knees_look_behind_filter(const shot_channel_view *view, shot_knee *knees, size_t count) {
    if (!(view->noise.lag1 > smoothed))
        return;
    const double late = fmin(view->noise.correlation, longest_filter(view));
    for (size_t i = 0; i < count; i++)
        knees[i].low = knees[i].at - hypot(knees[i].at - knees[i].low, late);
}
