/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Peaks and troughs of a channel. */
#include "detect/pump_dips.h"

#include <math.h>

bool pump_dip_next(const shot_channel_view *view, size_t end, double depth, size_t *at,
                   pump_dip *out) {
    const double *y = view->y;
    size_t peak = *at, i = *at;
    for (; i < end && !(y[peak] - y[i] > depth); i++)
        if (y[i] >= y[peak])
            peak = i;
    size_t trough = i < end ? i : peak;
    for (; i < end && !(y[i] - y[trough] > depth); i++)
        if (y[i] <= y[trough])
            trough = i;
    if (i >= end)
        return false;
    *out = (pump_dip){peak, trough, i};
    *at = i;
    return true;
}

double pump_highest(const shot_channel_view *view, double from, double to) {
    double most = -INFINITY;
    for (size_t i = shot_view_first(view, from); i < view->n && view->t[i] <= to; i++)
        most = fmax(most, view->y[i]);
    return most;
}

double pump_lowest(const shot_channel_view *view, double from, double to) {
    double least = INFINITY;
    for (size_t i = shot_view_first(view, from); i < view->n && view->t[i] <= to; i++)
        least = fmin(least, view->y[i]);
    return least;
}

/* A pump's strokes are no pulses: means over a tenth of a second, five strokes of the mains, or one
 * sample of a slower log. */
static const double strokes = 0.09; /* s, so that one of 0.1 s holds no more samples than it must */

/* How far a sample lies off the line between its neighbours; 0 at the ends, and where these are so
 * far apart that a pump may have run or stood between them. */
static double off_neighbours(const shot_channel_view *p, size_t i) {
    const double *t = p->t, *y = p->y;
    if (i == 0 || i + 1 >= p->n || t[i + 1] - t[i - 1] >= pump_shortest)
        return 0;
    return y[i] - y[i - 1] - (y[i + 1] - y[i - 1]) * (t[i] - t[i - 1]) / (t[i + 1] - t[i - 1]);
}

/* What a lone sample shows, above or below both of its neighbours, is neither a pulse nor a gap:
 * it gets their line.  Beside a stray one its neighbours look stray as well, but less. */
static void straighten_lone(const shot_channel_view *p, shot_channel_view *out) {
    const double *y = p->y;
    for (size_t i = 1; i + 1 < p->n; i++) {
        const double off = off_neighbours(p, i);
        if ((y[i] - y[i - 1]) * (y[i] - y[i + 1]) > 0 &&
            fabs(off) > fmax(fabs(off_neighbours(p, i - 1)), fabs(off_neighbours(p, i + 1))))
            out->y[i] = y[i] - off;
    }
}

shot_status pump_stroke_means(const shot_channel_view *p, shot_channel_view *out) {
    SHOT_TRY(shot_view_smooth(p, strokes / 2, out));
    if (p->noise.spacing > strokes)
        straighten_lone(p, out);
    out->noise.sd /= sqrt(fmax(1, strokes / p->noise.spacing / p->noise.inflation));
    return SHOT_OK;
}
