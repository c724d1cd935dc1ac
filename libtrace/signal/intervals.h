/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The intervals between times: whether times rise, the shortest and the longest, and one freed of
 * rounding. */
#ifndef SHOT_SIGNAL_INTERVALS_H
#define SHOT_SIGNAL_INTERVALS_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/signal/sample_gaps.h>

/* Whether t[0..n-1] are finite and each is above the one before; whether none is below it. */
bool times_rise(const double *t, size_t n);
bool times_do_not_fall(const double *t, size_t n);

/* Take in those between t[0..n-1], or a single one. */
void intervals_take(const double *t, size_t n, shot_intervals *all);
void intervals_take_one(double interval, shot_intervals *all);

/* Those between t[0..n-1]. */
shot_intervals intervals_between(const double *t, size_t n);

/* An interval > 0 at nine significant digits: what the rounding of the times left in their
 * difference is no part of it. */
double interval_tidied(double interval);

#endif
