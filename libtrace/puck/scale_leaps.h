/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is done at the scale while a shot is logged.
 *
 * A stream into the cup goes on: what it brings in a moment follows from how fast it runs before
 * and behind.  A cup that is taken off, a spoon that is put beside it, a press of the tare change
 * the weight between two rows instead, and the stream runs on as before.  And a scale that hangs
 * shows one figure for longer than the stream needs for several steps.
 *
 *     scale_samples scale;
 *     scale_samples_take(t, y, n, step, &noise, work, &scale);
 *     scale_leap leap = {0};
 *     while (scale_next_leap(&scale, leap.after, &leap))
 *         leap.size g were put on after t[leap.before] */
#ifndef SHOT_PUCK_SCALE_LEAPS_H
#define SHOT_PUCK_SCALE_LEAPS_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/signal/noise.h>

/* The samples of a weight; borrowed. */
typedef struct scale_samples {
    const double *t, *y; /* times, rising, and values, none missing [n] */
    size_t n;
    double step, sd; /* g: of the figures, and of their noise */
    double stand;    /* s for which a figure stands: the rows' spacing, or more of a slower scale */
} scale_samples;

typedef struct scale_leap {
    size_t before, after; /* the last sample before it, the first at which the scale has settled */
    double size;          /* g, what the stream brought meanwhile left out; negative: taken off */
    double half;          /* g, half its 95 % interval */
} scale_leap;

/* Take samples as they are.  `work` has shot_noise_workspace(n) doubles. */
void scale_samples_take(const double *t, const double *y, size_t n, double step,
                        const shot_noise *noise, double *work, scale_samples *out);

/* The first leap behind sample `from`; false if there is none. */
bool scale_next_leap(const scale_samples *scale, size_t from, scale_leap *out);

/* Take the leaps out of t, y [n], which `scale` borrows: what lies behind one is moved by its size,
 * and what the scale showed while it settled is left out.  Returns how many samples are left. */
size_t scale_join(const scale_samples *scale, double *t, double *y);

/* The sample from which on the scale shows one figure until after `until`, though the stream ran,
 * and went on to then; n if it does not hang.  Leaps are taken out of `scale`. */
size_t scale_hangs(const scale_samples *scale, double until);

#endif
