/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A channel that leaves one level at an instant and settles at another. */
#ifndef SHOT_DETECT_SETTLING_H
#define SHOT_DETECT_SETTLING_H

#include <stddef.h>

/* Of the way from level to level it has gone, a time u after the start,
 *
 *     1 - exp(-(u / T)^k),     u > 0
 *
 * with k = 1 for an approach of first order, which starts with a break, up to k = 2 for one that
 * starts from rest. */
enum { SETTLING_TIMES = 8, SETTLING_POWERS = 3 };
enum { SETTLING_SHAPES = SETTLING_TIMES * SETTLING_POWERS };

enum { SETTLING_STEPS = 600 };
#define SETTLING_STEP 0.01 /* s */
typedef struct settling_curves {
    double share[SETTLING_SHAPES][SETTLING_STEPS + 1];
} settling_curves;

void settling_curves_fill(settling_curves *out);

/* The curves as a sensor shows them that tells the mean over a gate before each reading. */
void settling_curves_over_gate(const settling_curves *plain, double gate, settling_curves *out);

/* When, after the start, the slopes over the h seconds before and behind differ most; no later than
 * h. */
double settling_centre(int shape, double h);

typedef struct settling_fit {
    double squares;      /* left over; infinite where the samples cannot tell */
    double freedom;      /* what the fit of both levels, the start and T leaves */
    double before, step; /* the level before, and by how much it rises */
    double step_se;      /* for noise of SD 1 */
} settling_fit;

/* Both levels by least squares.
 *   t, x     [n] times in order and values, none missing */
settling_fit settling_fit_at(const settling_curves *curves, int shape, const double *t,
                             const double *x, size_t n, double start);

/* The correlation of neighbouring residuals of that fit. */
double settling_echo(const settling_curves *curves, int shape, const double *t, const double *x,
                     size_t n, double start, const settling_fit *fit);

#endif
