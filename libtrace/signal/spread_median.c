/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The median of sizes on a lattice.  The count of what lies within a distance is made of straight
 * lines, so Newton's method ends in a few steps. */
#include "signal/spread_median.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

#include "signal/wide.h"

/* A stretch of residuals, each spread evenly over `grain` = 1 / scale. */
typedef struct spread {
    double scale, from, mirrored; /* m in grains and half a one more, and half a one less m */
} spread;

enum { SIDE_BY_SIDE = 8 }; /* residuals; their parts are summed in turn, as one by one */

/* The part of each residual that lies within m of 0; *edges grows by the ends that m passes. */
SHOT_INLINE void parts_within(const double *size, size_t n, const spread *s, double *part,
                              double *edges) {
    for (size_t l = 0; l < n; l++) {
        const double place = size[l] * s->scale, above = s->from - place;
        const double below = greater(s->mirrored - place, 0);
        const double up_to_one = lesser(above, 1);
        part[l] = greater(up_to_one, 0) - below;
        edges[l] += (above > 0 ? (above < 1 ? 1 : 0) : 0) + (below > 0 ? 1 : 0);
    }
}

/* How many of the residuals lie within m of 0, and in *slope how fast that grows with m. */
SHOT_WIDE static double count_within(const double *size, size_t n, double m, double grain,
                                     double *slope) {
    const double scale = 1 / grain;
    const spread s = {scale, m * scale + 0.5, 0.5 - m * scale};
    double count = 0, edges[SIDE_BY_SIDE] = {0}, part[SIDE_BY_SIDE];
    size_t i = 0;
    for (; i + SIDE_BY_SIDE <= n; i += SIDE_BY_SIDE) {
        parts_within(size + i, SIDE_BY_SIDE, &s, part, edges);
        for (size_t l = 0; l < SIDE_BY_SIDE; l++)
            count += part[l];
    }
    parts_within(size + i, n - i, &s, part, edges);
    for (size_t l = 0; l < n - i; l++)
        count += part[l];
    for (size_t l = 1; l < SIDE_BY_SIDE; l++)
        edges[0] += edges[l]; /* whole numbers: in any order */
    *slope = edges[0] * scale;
    return count;
}

/* As a whole number: those of sizes, which have no sign, have the same order. */
static inline uint64_t bits_of(double size) {
    uint64_t bits;
    memcpy(&bits, &size, sizeof bits);
    return bits;
}

/* Brings to the front the sizes within a grain of the median, which alone decide where the spread
 * one is, and returns how many they are; *under counts those that lie below. */
static size_t keep_near(double *size, size_t n, double median, double grain, size_t *under) {
    const uint64_t low = bits_of(greater(median - grain, 0)), width = bits_of(median + grain) - low;
    size_t kept = 0, below = 0;
    for (size_t i = 0; i < n; i++) {
        const uint64_t x = bits_of(size[i]);
        size[kept] = size[i];
        kept += x - low <= width;
        below += x < low;
    }
    *under = below;
    return kept;
}

double spread_median(double *size, size_t n, double median, double grain) {
    size_t under;
    const size_t near = keep_near(size, n, median, grain, &under);
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
