/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Intervals for a proportion. */
#include <shottrace/signal/distribution.h>
#include <shottrace/signal/proportion.h>

#include <math.h>
#include <stdbool.h>

static bool valid(size_t hits, size_t n, double level) {
    return n >= 1 && hits <= n && level > 0 && level < 1;
}

shot_status shot_proportion_wilson(size_t hits, size_t n, double level, double *low, double *high) {
    if (!valid(hits, n, level))
        return SHOT_ERR_RANGE;
    double z = shot_normal_quantile((1 + level) / 2), z2 = z * z;
    double count = (double)n, p = (double)hits / count;
    double centre = (p + z2 / (2 * count)) / (1 + z2 / count);
    double half = z * sqrt(p * (1 - p) / count + z2 / (4 * count * count)) / (1 + z2 / count);
    *low = hits == 0 ? 0 : centre - half;
    *high = hits == n ? 1 : centre + half;
    return SHOT_OK;
}

shot_status shot_proportion_exact(size_t hits, size_t n, double level, double *low, double *high) {
    if (!valid(hits, n, level))
        return SHOT_ERR_RANGE;
    double k = (double)hits, misses = (double)(n - hits), each = (1 - level) / 2;
    *low = hits == 0 ? 0 : shot_beta_quantile(each, k, misses + 1);
    *high = hits == n ? 1 : shot_beta_quantile(1 - each, k + 1, misses);
    return SHOT_OK;
}
