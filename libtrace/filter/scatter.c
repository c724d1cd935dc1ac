/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How far the samples of a channel scatter. */
#include "filter/scatter.h"

#include <math.h>

#include <shottrace/signal/median.h>
#include <shottrace/signal/resolution.h>

/* The noise is the scatter of each sample about the line through its two neighbours (Gasser, Sroka
 * & Jennen-Steinmetz 1986, 'Residual variance and residual pattern in nonlinear regression',
 * Biometrika 73:625-633, eq. 2), by the median so that spikes do not count. */
double scatter_of(const double *t, const double *y, size_t n, double *work) {
    size_t count = 0;
    for (size_t i = 1; i + 1 < n; i++) {
        const double a = (t[i + 1] - t[i]) / (t[i + 1] - t[i - 1]), b = 1 - a;
        work[count++] = fabs(y[i] - a * y[i - 1] - b * y[i + 1]) / sqrt(1 + a * a + b * b);
    }
    const double noise = count > 0 ? SHOT_MAD_TO_SD * shot_median(work, count) : 0;
    return fmax(noise, shot_resolution(y, n) / 2);
}
