/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The mean of the slopes of several groups. */
#include <shottrace/signal/mean_slope.h>

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/moments.h>
#include <shottrace/signal/two_sample.h>

/* The least-squares slope of the pairs of one group, about their means; NaN where x does not vary.
 * Marks them as done. */
static double slope_of(const double *x, const double *y, const size_t *group, size_t n,
                       size_t first, bool *done) {
    double count = 0, mean_x = 0, mean_y = 0, xx = 0, xy = 0;
    for (size_t i = first; i < n; i++) {
        if (done[i] || group[i] != group[first])
            continue;
        done[i] = true;
        const double step = x[i] - mean_x;
        mean_x += step / ++count;
        mean_y += (y[i] - mean_y) / count;
        xx += step * (x[i] - mean_x);
        xy += step * (y[i] - mean_y);
    }
    return xx > 0 ? xy / xx : NAN;
}

static shot_status test(const double *slopes, size_t count, double level, shot_slope *out) {
    const shot_moments m = shot_moments_find(slopes, count);
    shot_t_test t;
    if (m.n < 2 || !(m.sd > 0))
        return SHOT_ERR_SINGULAR;
    SHOT_TRY(shot_two_sample_test(m.mean, m.sd / sqrt((double)m.n), (double)(m.n - 1), level, &t));
    *out = (shot_slope){t.difference, t.se, t.df, t.t, t.p, t.low, t.high};
    return SHOT_OK;
}

shot_status shot_mean_slope_find(const double *x, const double *y, const size_t *group, size_t n,
                                 double level, shot_slope *out) {
    if (!(level > 0 && level < 1))
        return SHOT_ERR_RANGE;
    bool *done = malloc((n + 1) * sizeof *done);
    double *slopes = malloc((n + 1) * sizeof *slopes);
    shot_status status = SHOT_ERR_MEMORY;
    if (done != NULL && slopes != NULL) {
        size_t count = 0;
        for (size_t i = 0; i < n; i++)
            done[i] = isnan(x[i]) || isnan(y[i]);
        for (size_t i = 0; i < n; i++)
            if (!done[i])
                slopes[count++] = slope_of(x, y, group, n, i, done);
        status = test(slopes, count, level, out);
    }
    free(done);
    free(slopes);
    return status;
}
