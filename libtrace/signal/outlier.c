/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The odd one out of a sample. */
#include <shottrace/signal/distribution.h>
#include <shottrace/signal/moments.h>
#include <shottrace/signal/outlier.h>

#include <math.h>

/* G^2 = (n - 1)^2/n t^2/(n - 2 + t^2), turned round: e-Handbook 1.3.5.17.1. */
static double p_value(double g, double n) {
    double most = (n - 1) / sqrt(n); /* the largest G that n values can have */
    if (g >= most * (1 - 1e-12))
        return 0;
    double share = g / most, t = share * sqrt((n - 2) / (1 - share * share));
    return fmin(1, 2 * n * shot_student_tail(t, n - 2));
}

shot_status shot_outlier_grubbs(const double *x, size_t n, shot_outlier *out) {
    shot_moments m = shot_moments_find(x, n);
    if (m.n < 3 || !(m.sd > 0))
        return SHOT_ERR_SINGULAR;
    shot_outlier furthest = {0, -1, NAN};
    for (size_t i = 0; i < n; i++)
        if (fabs(x[i] - m.mean) / m.sd > furthest.g)
            furthest = (shot_outlier){i, fabs(x[i] - m.mean) / m.sd, NAN};
    furthest.p = p_value(furthest.g, (double)m.n);
    *out = furthest;
    return SHOT_OK;
}
