/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The formulas of the monotone cubic, for one place or for many at once. */
#ifndef SHOT_SIGNAL_CUBIC_STRETCH_H
#define SHOT_SIGNAL_CUBIC_STRETCH_H

#include <math.h>
#include <stdbool.h>

#include "wide.h"

/* Inner sample: harmonic mean of the slopes d0 and d1 of the intervals h0 and h1 beside it,
 * weighted towards the shorter interval (Fritsch & Butland 1984, equation 5, with the weights of
 * Brodlie); 0 where the data turn. */
SHOT_INLINE double cubic_inner_slope(double h0, double d0, double h1, double d1) {
    const bool goes_on = ((d0 > 0) & (d1 > 0)) | ((d0 < 0) & (d1 < 0));
    const double w0 = 2 * h1 + h0;
    const double w1 = h1 + 2 * h0;
    const double slope = (w0 + w1) / (w0 / d0 + w1 / d1);
    return goes_on ? slope : 0;
}

/* The cubic between samples (t0, y0) and (t1, y1), in Hermite form, clamped to them: it never
 * leaves them, but its rounding may. */
SHOT_INLINE double cubic_hermite(double t0, double t1, double y0, double y1, double slope0,
                                 double slope1, double t) {
    const double h = t1 - t0;
    const double s = (t - t0) / h, r = (t1 - t) / h;
    const double y =
        y0 * r * r * (1 + 2 * s) + y1 * s * s * (1 + 2 * r) + h * s * r * (r * slope0 - s * slope1);
    const double held = lesser(greater(y, lesser(y0, y1)), greater(y0, y1));
    return y == y ? held : y;
}

/* The slopes at samples 1 .. n-2 of a run of n samples, slope[0] at the first of these. */
void cubic_inner_slopes(const double *t, const double *y, size_t n, double *slope);

enum { CUBIC_STRETCH = 128 };

/* The pieces around some places: the samples on both sides of each. */
typedef struct cubic_pieces {
    double t[CUBIC_STRETCH][2], y[CUBIC_STRETCH][2], slope[CUBIC_STRETCH][2];
} cubic_pieces;

/* The values at `m` places in them, one in each. */
void cubic_values(const cubic_pieces *pieces, const double *at, size_t m, double *value);

#endif
