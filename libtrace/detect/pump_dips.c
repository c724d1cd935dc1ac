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

/* How far the noise of n samples reaches from its lowest to its highest, for practically all logs:
 * the highest of n normal ones is seldom beyond sqrt(2 ln n) (Leadbetter, Lindgren & Rootzen 1983,
 * 'Extremes and Related Properties of Random Sequences and Processes', theorem 1.5.3). */
double pump_noise_range(const shot_channel_view *view) {
    return 2 * sqrt(2 * log((double)view->n + 1)) * view->noise.sd;
}

/* A pump's strokes are no pulses: means over a tenth of a second, five strokes of the mains, or one
 * sample of a slower log. */
static const double strokes = 0.09; /* s, so that one of 0.1 s holds no more samples than it must */

/* How far sample i lies off the line between samples `a` and `b`. */
static double off_line(const shot_channel_view *p, size_t a, size_t i, size_t b) {
    const double *t = p->t, *y = p->y;
    return y[i] - y[a] - (y[b] - y[a]) * (t[i] - t[a]) / (t[b] - t[a]);
}

/* Is sample i a stray one?  It lies above or below both of its neighbours, which are so near that
 * neither a pulse nor a gap fits between them, and without it the curve is smooth; beside the peak
 * of a short pulse it is not. */
static bool is_stray(const shot_channel_view *p, size_t i) {
    const double *y = p->y, off = off_line(p, i - 1, i, i + 1);
    return (y[i] - y[i - 1]) * (y[i] - y[i + 1]) > 0 && p->t[i + 1] - p->t[i - 1] < pump_shortest &&
           fabs(off_line(p, i - 2, i - 1, i + 1)) < 0.4 * fabs(off) &&
           fabs(off_line(p, i - 1, i + 1, i + 2)) < 0.4 * fabs(off);
}

/* What a lone stray sample shows is neither a pulse nor a gap: it gets its neighbours' line.  Where
 * means hold several samples, noise makes some of them, and only one that it does not counts. */
static void straighten_stray(const shot_channel_view *p, shot_channel_view *out) {
    const double least = p->noise.spacing > strokes ? 0 : 6 * p->noise.sd;
    for (size_t i = 2; i + 2 < p->n; i++)
        if (is_stray(p, i) && fabs(off_line(p, i - 1, i, i + 1)) > least)
            out->y[i] = p->y[i] - off_line(p, i - 1, i, i + 1);
}

shot_status pump_stroke_means(const shot_channel_view *p, shot_channel_view *out) {
    shot_channel_view straight;
    SHOT_TRY(shot_view_copy(p, &straight));
    straighten_stray(p, &straight);
    const shot_status status = shot_view_smooth(&straight, strokes / 2, out);
    shot_channel_view_free(&straight);
    SHOT_TRY(status);
    const double samples = 2 * floor(strokes / 2 / p->noise.spacing) + 1;
    out->noise.sd /= sqrt(fmax(1, samples / p->noise.inflation));
    return SHOT_OK;
}
