/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How far a sample lies from the straight line through one before and one behind it: what is left
 * of it is noise where the signal bends little.
 * Source: Gasser, Sroka & Jennen-Steinmetz 1986, 'Residual variance and residual pattern in
 * nonlinear regression', Biometrika 73:625-633, eq. 2. */
#ifndef SHOT_SIGNAL_PSEUDO_RESIDUAL_H
#define SHOT_SIGNAL_PSEUDO_RESIDUAL_H

#include <math.h>
#include <stddef.h>

/* Its size for the sample `span` behind t[0], the others being t[0] and t[2 span], which do not
 * fall.  In white noise of SD 1 the residual has variance 1: the line's weights a + b = 1 add
 * a^2 + b^2 to that of the sample. */
static inline double pseudo_residual_size(const double *t, const double *y, size_t span) {
    const double width = t[2 * span] - t[0];
    const double b = width > 0 ? (t[span] - t[0]) / width : 0.5, a = 1 - b;
    return fabs((y[span] - a * y[0] - b * y[2 * span]) / sqrt(1 + a * a + b * b));
}

#endif
