/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A channel that leaves one level at an instant and settles at another. */
#ifndef SHOT_DETECT_SETTLING_H
#define SHOT_DETECT_SETTLING_H

#include <stddef.h>

/* Of the way from level to level it has gone, a time u after the start,
 *
 *     1 - exp(-u / T),     u > 0,
 *
 * or what a jet shows of the pressure that builds up behind it: in a room that gives and holds a
 * rest of air, over a bed that lets water through (jet_settling below). */
enum { SETTLING_LAGS = 8, SETTLING_AIRS = 10, SETTLING_GIVES = 3 };
enum { SETTLING_ROOMS = SETTLING_AIRS * SETTLING_GIVES };
enum { SETTLING_SHAPES = SETTLING_LAGS + SETTLING_ROOMS };

enum { SETTLING_STEPS = 600 };
#define SETTLING_STEP 0.01 /* s */
typedef struct settling_curves {
    double share[SETTLING_SHAPES][SETTLING_STEPS + 1];
} settling_curves;

/* Behind a jet.  With x the part of its pressure that the room behind has, the jet lets through
 * sqrt(1 - x) of its free flow, and what the bed lets through is as its pressure (Darcy's law). The
 * rest fills the room, which gives so much for each pressure, and presses its air together (Boyle's
 * law, at constant temperature): the sooner the less there is left of it.
 *
 *     dx/dt (give + air b / (1 + b x)^2) = sqrt(1 - x) - settled x / (1 - settled^2)
 *
 *   b         the pressure before the jet over that of the air around
 *   settled   the part of its free flow that it lets through in the end, 0 to 1
 * give and air are times: what of either the free flow fills, at the full pressure. */
typedef struct settling_jet {
    double b, settled;
} settling_jet;

void settling_curves_fill(const settling_jet *jet, settling_curves *out);

/* The curves as a sensor shows them that tells the mean over a gate before each reading. */
void settling_curves_over_gate(const settling_curves *plain, double gate, settling_curves *out);

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
