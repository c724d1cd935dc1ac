/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How far a sample lies from the straight line through one before and one behind it: what is left
 * of it is noise where the signal bends little.
 * Source: Gasser, Sroka & Jennen-Steinmetz 1986, 'Residual variance and residual pattern in
 * nonlinear regression', Biometrika 73:625-633, eq. 2. */
#ifndef SHOT_SIGNAL_PSEUDO_RESIDUAL_H
#define SHOT_SIGNAL_PSEUDO_RESIDUAL_H

#include <math.h>
#include <stddef.h>

/* The weight of the sample at t[2 span] in the line through that and the one at t[0], at the sample
 * between them at t[span]; times do not fall. */
static inline double pseudo_residual_share(const double *t, size_t span) {
    const double width = t[2 * span] - t[0];
    return width > 0 ? (t[span] - t[0]) / width : 0.5;
}

/* What makes the distance from the line one of variance 1 in white noise of SD 1: the squares of
 * the weights of a sample and of the line, a + b = 1, add up to 1 + a^2 + b^2. */
static inline double pseudo_residual_scale(double share) {
    const double b = share, a = 1 - b;
    return 1 / sqrt(1 + a * a + b * b);
}

/* Its size, of variance 1 in white noise of SD 1, for the sample `span` behind y[0]. */
static inline double pseudo_residual_of(const double *y, size_t span, double share, double scale) {
    const double b = share, a = 1 - b;
    return fabs((y[span] - a * y[0] - b * y[2 * span]) * scale);
}

static inline double pseudo_residual_size(const double *t, const double *y, size_t span) {
    const double share = pseudo_residual_share(t, span);
    return pseudo_residual_of(y, span, share, pseudo_residual_scale(share));
}

#endif
