/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The median of sizes on a lattice.  The count of what lies within a distance is made of straight
 * lines, so Newton's method ends in a few steps. */
#include "signal/spread_median.h"

#include <math.h>
#include <stdbool.h>

#include "signal/gather.h"
#include "signal/wide.h"

/* A stretch of residuals, each spread evenly over `grain` = 1 / scale. */
typedef struct spread {
    double scale, from, mirrored; /* m in grains and half a one more, and half a one less m */
} spread;

enum { SIDE_BY_SIDE = 8 }; /* residuals; their parts are summed in turn, as one by one */

/* The part of each residual that lies within m of 0; *edges grows by the ends that m passes.  Only
 * where m is less than half a grain is any of them mirrored. */
SHOT_INLINE void parts_within(const double *size, size_t n, const spread *s, bool mirrors,
                              double *part, double *edges) {
    for (size_t l = 0; l < n; l++) {
        const double place = size[l] * s->scale, above = s->from - place;
        const double below = mirrors ? greater(s->mirrored - place, 0) : 0;
        const double up_to_one = lesser(above, 1);
        part[l] = greater(up_to_one, 0) - below;
        edges[l] += (above > 0 ? (above < 1 ? 1 : 0) : 0) + (below > 0 ? 1 : 0);
    }
}

SHOT_INLINE double sum_within(const double *size, size_t n, const spread *s, bool mirrors,
                              double *edges) {
    double count = 0, part[SIDE_BY_SIDE];
    size_t i = 0;
    for (; i + SIDE_BY_SIDE <= n; i += SIDE_BY_SIDE) {
        parts_within(size + i, SIDE_BY_SIDE, s, mirrors, part, edges);
        for (size_t l = 0; l < SIDE_BY_SIDE; l++)
            count += part[l];
    }
    parts_within(size + i, n - i, s, mirrors, part, edges);
    for (size_t l = 0; l < n - i; l++)
        count += part[l];
    return count;
}

/* How many of the residuals lie within m of 0, and in *slope how fast that grows with m. */
SHOT_WIDE static double count_within(const double *size, size_t n, double m, double grain,
                                     double *slope) {
    const double scale = 1 / grain;
    const spread s = {scale, m * scale + 0.5, 0.5 - m * scale};
    double edges[SIDE_BY_SIDE] = {0};
    const double count = s.mirrored > 0 ? sum_within(size, n, &s, true, edges)
                                        : sum_within(size, n, &s, false, edges);
    for (size_t l = 1; l < SIDE_BY_SIDE; l++)
        edges[0] += edges[l]; /* whole numbers: in any order */
    *slope = edges[0] * scale;
    return count;
}

double spread_median(double *size, size_t n, double median, double grain) {
    size_t under; /* those within a grain of the median alone decide where the spread one is */
    const size_t near = gather_between(size, size, n, median - grain, median + grain, size, &under);
    const double wanted = 0.5 * (double)n - (double)under;
    double low = fmax(median - grain / 2, 0), high = median + grain / 2, m = median;
    for (int step = 0; step < 40 && high - low > 1e-9 * grain; step++) {
        double slope;
        const double lacks = wanted - count_within(size, near, m, grain, &slope);
        if (lacks > 0)
            low = m;
        else
            high = m;
        const double next = m + lacks / slope;
        if (fabs(lacks) <= 1e-9 * (double)n)
            break;
        m = next > low && next < high ? next : 0.5 * (low + high);
    }
    return m;
}
