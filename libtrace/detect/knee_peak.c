/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "detect/knee_peak.h"

#include <math.h>

#include <shottrace/signal/distribution.h>

#include "signal/hinge.h"

static hinge change_at(const line_sums *sums, size_t i, double reach) {
    const double x = sums->x[i];
    return hinge_fit(sums, line_sums_index(sums, nextafter(x - reach, -INFINITY)), i,
                     line_sums_index(sums, x + reach), x);
}

/* Changes seen so far apart have the correlation 1 - 1.5 lag / reach while that is small
 * (knee_scan.c); their difference has this standard error, where each has 1. */
static double difference_se(double lag, double reach) {
    return sqrt(fmin(2, 3 * fabs(lag) / reach));
}

double shot_knee_peak(const shot_channel_view *view, const line_sums *sums, double at, double scale,
                      double sign, double level) {
    const double reach = HINGE_BELL * scale, here = at - sums->x0;
    const size_t first = line_sums_index(sums, here - scale),
                 end = line_sums_index(sums, here + scale), last = line_sums_index(sums, here);
    size_t best = last;
    double most = -INFINITY, se = INFINITY;
    for (size_t i = first; i < end; i++) {
        const hinge h = change_at(sums, i, reach);
        if (isfinite(h.se) && copysign(1, sign) * h.change > most) {
            most = copysign(1, sign) * h.change;
            se = h.se * view->noise.sd * sqrt(view->noise.inflation);
            best = i;
        }
    }
    if (!isfinite(se) || last == 0)
        return at;
    const double less = most - copysign(1, sign) * change_at(sums, last - 1, reach).change;
    const double chance = shot_normal_quantile(0.5 + level / 2) * se *
                          difference_se(sums->x[best] - sums->x[last - 1], reach);
    return less > chance ? sums->x[best] + sums->x0 : at;
}
