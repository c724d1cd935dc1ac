/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A sensor slower than its logger: the same figure stands in several rows, and tells but once. */
#ifndef SHOT_SIGNAL_HELD_VALUES_H
#define SHOT_SIGNAL_HELD_VALUES_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/signal/noise.h>

#include "signal/noise_times.h"

/* Whether the channel looks held: it goes in stairs where it goes fast, or hardly a figure stands
 * in one row alone and most changes are of more than one step (a slow channel in coarse steps
 * stands for long too, but changes by single ones).
 *   t, y   times, rising, and values, none missing  [n]
 *   step   the step in which y is written
 *   sd     of its noise
 *   work   n doubles
 *   stand  for how long a figure stands, s; NaN where no stairs tell */
bool held_look(const double *t, const double *y, size_t n, double step, double sd, double *work,
               double *stand);

/* Keep the first row of each figure, which is told again each time it has stood for longer than
 * `stand` (NaN: never).  Returns how many are left, in t and y. */
size_t held_keep_first(double *t, double *y, size_t n, double stand);

/* The number of doubles that held_noise_estimate needs as its workspace for n samples. */
size_t held_noise_workspace(size_t n);

/* shot_noise_estimate of the rows, for a channel that may be held: the noise is that of the
 * figures, and the rows in which one stands share it, so that a mean over m rows knows as much as
 * one over m / (rows a figure) would.  Errors as there. */
shot_status held_noise_estimate(const double *t, const double *y, size_t n, double step,
                                double *work, shot_noise *out);

/* The same in a way of one's choice. */
shot_status held_noise_estimate_with(const noise_way *way, const double *t, const double *y,
                                     size_t n, double step, double *work, shot_noise *out);

#endif
