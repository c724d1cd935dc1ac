/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A clock on which a stream runs evenly. */
#include "detect/stream_clock.h"

#include <math.h>
#include <stdlib.h>

/* Less than this drives a stream no less: the clock never stands, so that each reading is one
 * instant. */
static const double least_drive = 0.5; /* bar: no pressure worth the name */

shot_status stream_clock_new(const shot_channel_view *puck, double rest, double lag,
                             stream_clock *out) {
    *out = (stream_clock){.n = puck->n > 1 ? puck->n : 0};
    if (out->n == 0)
        return SHOT_OK;
    out->t = malloc(out->n * sizeof *out->t);
    out->s = malloc(out->n * sizeof *out->s);
    if (out->t == NULL || out->s == NULL) {
        stream_clock_free(out);
        return SHOT_ERR_MEMORY;
    }
    double sum = 0, before = 0;
    for (size_t i = 0; i < out->n; i++) {
        const double drive = fmax(puck->y[i] - rest, least_drive);
        sum += i > 0 ? (puck->t[i] - puck->t[i - 1]) * (before + drive) / 2 : 0;
        before = drive;
        out->t[i] = puck->t[i] + lag;
        out->s[i] = sum;
    }
    return SHOT_OK;
}

void stream_clock_free(stream_clock *clock) {
    free(clock->t);
    free(clock->s);
    *clock = (stream_clock){0};
}

/* y at x by the line through two neighbours in a table with x rising, and on along its first and
 * last line. */
static double look_up(const double *xs, const double *ys, size_t n, double x) {
    size_t low = 0, high = n - 1;
    while (high > low + 1) {
        const size_t middle = (low + high) / 2;
        if (xs[middle] <= x)
            low = middle;
        else
            high = middle;
    }
    return ys[low] + (x - xs[low]) / (xs[high] - xs[low]) * (ys[high] - ys[low]);
}

void stream_clock_set(stream_clock *clock, double from, double to) {
    const double a = stream_clock_at(clock, from), b = stream_clock_at(clock, to);
    for (size_t i = 0; i < clock->n; i++)
        clock->s[i] = from + (clock->s[i] - a) * ((to - from) / (b - a));
}

double stream_clock_at(const stream_clock *clock, double t) {
    return clock->n > 0 ? look_up(clock->t, clock->s, clock->n, t) : t;
}

static double time_of(const stream_clock *clock, double s) {
    return clock->n > 0 ? look_up(clock->s, clock->t, clock->n, s) : s;
}

shot_instant stream_clock_time(const stream_clock *clock, shot_instant shown) {
    return (shot_instant){time_of(clock, shown.at), time_of(clock, shown.low),
                          time_of(clock, shown.high)};
}

shot_status stream_clock_view(const stream_clock *clock, const shot_channel_view *view, double from,
                              double to, shot_channel_view *out) {
    const size_t first = shot_view_first(view, from);
    const size_t end = shot_view_first(view, nextafter(to, INFINITY));
    shot_channel_view part = *view;
    part.t += first;
    part.y += first;
    part.n = end - first;
    SHOT_TRY(shot_view_copy(&part, out));
    for (size_t i = 0; i < out->n; i++)
        out->t[i] = stream_clock_at(clock, out->t[i]);
    return SHOT_OK;
}
