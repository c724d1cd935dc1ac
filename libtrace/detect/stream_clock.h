/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A clock on which a stream runs evenly.
 *
 * A puck lets through what its pressure drives (Darcy 1856, 'Les fontaines publiques de la ville de
 * Dijon', note D), so that a cup fills evenly against the integral of the pressure over time,
 * however the pressure goes: slowly while the puck is held at two bar, fast when the pump comes on,
 * not at all between pulses.  Without a gauge the clock is time. */
#ifndef SHOT_DETECT_STREAM_CLOCK_H
#define SHOT_DETECT_STREAM_CLOCK_H

#include "detect/onset.h"

typedef struct stream_clock {
    size_t n;      /* 0: the clock is time */
    double *t, *s; /* time, and what the clock shows then [n] */
} stream_clock;

/* From the pressure at the puck, over `rest`, as a scale shows it `lag` seconds later.
 * SHOT_ERR_MEMORY.  Freed by stream_clock_free. */
shot_status stream_clock_new(const shot_channel_view *puck, double rest, double lag,
                             stream_clock *out);
void stream_clock_free(stream_clock *clock);

/* Let it agree with time at both of these instants. */
void stream_clock_set(stream_clock *clock, double from, double to);

/* What it shows at a time, and the instant of time at which it shows that. */
double stream_clock_at(const stream_clock *clock, double t);
shot_instant stream_clock_time(const stream_clock *clock, shot_instant shown);

/* The samples of from..to on that clock.  SHOT_ERR_MEMORY.  Freed by shot_channel_view_free. */
shot_status stream_clock_view(const stream_clock *clock, const shot_channel_view *view, double from,
                              double to, shot_channel_view *out);

#endif
