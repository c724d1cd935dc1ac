/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How far the samples of a channel scatter. */
#include "signal/scatter.h"

#include <math.h>
#include <string.h>

#include <shottrace/signal/median.h>
#include <shottrace/signal/resolution.h>

#include "signal/changes.h"
#include "signal/count_below.h"
#include "signal/magnitude.h"
#include "signal/pseudo_residual.h"
#include "signal/wide.h"

/* The noise is the scatter of each sample about the line through its two neighbours, by the median
 * so that spikes do not count. */
SHOT_WIDE void scatter_residuals(const double *restrict t, const double *restrict y, size_t n,
                                 double *restrict out) {
    for (size_t i = 0; i + 2 < n; i++)
        out[i] = pseudo_residual_size(t + i, y + i, 1);
}

/* Of n - 2 residuals, which are used up. */
static double noise_of(double *residuals, size_t n) {
    return n > 2 ? SHOT_MAD_TO_SD * shot_median(residuals, n - 2) : 0;
}

double scatter_of(const double *t, const double *y, size_t n, double *work) {
    scatter_residuals(t, y, n, work);
    return fmax(noise_of(work, n), shot_resolution(y, n) / 2);
}

/* No less than half the step of the figures.  Two values that are multiples of it, as
 * shot_resolution takes them, differ by at least about a step, unless it is by their rounding. */
static double bound_of_half_step(const double *y, size_t n) {
    shot_changes all = {INFINITY, 0, 0};
    changes_take(y, n, &all);
    return all.smallest > 4 * SHOT_CHANGES_ROUNDING * largest_magnitude(y, n) ? all.smallest
                                                                              : INFINITY;
}

/* How many residuals are small enough tells whether their median is, but for a little more than all
 * rounding; where that does not tell, the median does. */
static bool noise_is_below(const double *residuals, size_t n, double limit, double times,
                           double *work) {
    const double most = limit / (times * SHOT_MAD_TO_SD);
    if (n > 2 && count_below(residuals, n - 2, most * (1 + 1e-12)) <= (double)((n - 3) / 2))
        return false;
    if (n > 2 && count_below(residuals, n - 2, most * (1 - 1e-12)) > (double)((n - 2) / 2))
        return true;
    if (n > 2)
        memcpy(work, residuals, (n - 2) * sizeof *work);
    return times * noise_of(work, n) < limit;
}

bool scatter_is_below(const double *residuals, const double *y, size_t n, double limit,
                      double times, double *work) {
    return noise_is_below(residuals, n, limit, times, work) &&
           (times * bound_of_half_step(y, n) < limit ||
            times * (shot_resolution(y, n) / 2) < limit);
}
