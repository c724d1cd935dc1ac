/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stretches in which a channel stands at one figure though noise would not let it: a sensor at the
 * end of its scale, a pointer on its pin, a meter in which nothing moves.  They tell nothing of the
 * noise elsewhere. */
#ifndef SHOT_SIGNAL_STANDING_H
#define SHOT_SIGNAL_STANDING_H

#include <stdbool.h>
#include <stddef.h>

enum { STANDING_LEAST = 8 }; /* samples of a run that is looked at */

/* Whether there is a run of so many of one value in y[0..n-1]. */
bool standing_any(const double *y, size_t n);

/* Set out[i] to infinity for samples in runs of at least `least`, and `beside` them on both sides.
 * Returns how many are left. */
size_t standing_leave_out(const double *y, size_t n, size_t least, size_t beside, double *out);

/* The shortest run, STANDING_LEAST or more, of which noise makes fewer than a thousandth in n
 * samples, if a sample shows the figure before it with that probability; SIZE_MAX where it may make
 * any. */
size_t standing_beyond_chance(double stay, size_t n);

#endif
