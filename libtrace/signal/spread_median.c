/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The median of sizes on a lattice.  The count of what lies within a distance is made of straight
 * lines, so Newton's method ends in a few steps. */
#include "signal/spread_median.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>

#include "lanes.h"
#include "signal/gather.h"
#include "signal/wide.h"

/* A stretch of residuals, each spread evenly over `grain` = 1 / scale. */
typedef struct spread {
    double scale, from, mirrored; /* m in grains and half a one more, and half a one less m */
} spread;

enum { SIDE_BY_SIDE = 4 }; /* residuals, each with sums of its own: one would wait for the other */

/* The parts of the residuals that lie within m of 0, and how many of their ends m passes or meets.
 */
typedef struct spread_sums {
    double parts[SIDE_BY_SIDE];
    int64_t ends[SIDE_BY_SIDE];
} spread_sums;

/* The residuals from number i on. */
static void sum_from(size_t i, const double *size, size_t n, const spread *s, spread_sums *sums) {
    for (; i < n; i++) {
        const double place = size[i] * s->scale, above = s->from - place;
        const double part = greater(lesser(above, 1), 0);
        const double below = greater(s->mirrored - place, 0);
        sums->parts[i % SIDE_BY_SIDE] += part - below;
        sums->ends[i % SIDE_BY_SIDE] += (part == above) + (below > 0);
    }
}

#if defined(SHOT_HAS_LANES)
/* Four at a time, in the order of the plain way; how many were taken. */
IN_LANES size_t sum_fours(const double *size, size_t n, const spread *s, bool mirrors,
                          spread_sums *sums) {
    const __m256d scale = _mm256_set1_pd(s->scale), from = _mm256_set1_pd(s->from);
    const __m256d mirrored = _mm256_set1_pd(s->mirrored), one = _mm256_set1_pd(1);
    const __m256d none = _mm256_setzero_pd();
    __m256d parts = none;
    __m256i ends = _mm256_setzero_si256(); /* less one for each */
    size_t i = 0;
    for (; i + LANES <= n; i += LANES) {
        const __m256d place = _mm256_mul_pd(_mm256_loadu_pd(size + i), scale);
        const __m256d above = _mm256_sub_pd(from, place);
        __m256d part = _mm256_max_pd(_mm256_min_pd(above, one), none);
        ends = _mm256_add_epi64(ends, _mm256_castpd_si256(_mm256_cmp_pd(part, above, _CMP_EQ_OQ)));
        if (mirrors) {
            const __m256d below = _mm256_max_pd(_mm256_sub_pd(mirrored, place), none);
            const __m256d passes = _mm256_cmp_pd(below, none, _CMP_GT_OQ);
            part = _mm256_sub_pd(part, below);
            ends = _mm256_add_epi64(ends, _mm256_castpd_si256(passes));
        }
        parts = _mm256_add_pd(parts, part);
    }
    _mm256_storeu_pd(sums->parts, parts);
    _mm256_storeu_si256((__m256i *)(void *)sums->ends,
                        _mm256_sub_epi64(_mm256_setzero_si256(), ends));
    return i;
}

/* Only where m is less than half a grain is any of them mirrored. */
WITH_LANES static size_t sum_in_lanes(const double *size, size_t n, const spread *s,
                                      spread_sums *sums) {
    return s->mirrored > 0 ? sum_fours(size, n, s, true, sums) : sum_fours(size, n, s, false, sums);
}
#endif

/* How many of the residuals lie within m of 0, and in *slope how fast that grows with m. */
static double count_within(const double *size, size_t n, double m, double grain, double *slope) {
    const double scale = 1 / grain;
    const spread s = {scale, m * scale + 0.5, 0.5 - m * scale};
    spread_sums sums = {{0}, {0}};
    size_t done = 0;
#if defined(SHOT_HAS_LANES)
    if (lanes_are_there())
        done = sum_in_lanes(size, n, &s, &sums);
#endif
    sum_from(done, size, n, &s, &sums);
    *slope = (double)((sums.ends[0] + sums.ends[1]) + (sums.ends[2] + sums.ends[3])) * scale;
    return (sums.parts[0] + sums.parts[1]) + (sums.parts[2] + sums.parts[3]);
}

/* The residuals about the median, of which `wanted` lie within it; it is between two numbers. */
typedef struct spread_search {
    const double *near; /* [count] */
    size_t count;
    double wanted, low, high;
} spread_search;

/* Looks for the median from *m on; false where so many steps do not find it between the two. */
static bool find(spread_search in, double grain, int steps, double *m) {
    for (int step = 0; step < steps && in.high - in.low > 1e-9 * grain; step++) {
        double slope;
        const double lacks = in.wanted - count_within(in.near, in.count, *m, grain, &slope);
        if (fabs(lacks) <= 1e-12 * (in.wanted + (double)in.count))
            return true;
        if (lacks > 0)
            in.low = *m;
        else
            in.high = *m;
        const double next = *m + lacks / slope;
        *m = next > in.low && next < in.high ? next : 0.5 * (in.low + in.high);
    }
    return false;
}

/* Those within `reach` of m, and half a grain more on either side, decide where the median is if
 * that is within `reach` too. */
static spread_search search_about(const double *size, size_t n, double m, double reach,
                                  double grain, double *near) {
    size_t under;
    const double most = reach + grain / 2;
    const size_t count = gather_between(size, size, n, m - most, m + most, near, &under);
    return (spread_search){near, count, 0.5 * (double)n - (double)under, m - reach, m + reach};
}

double spread_median(double *size, size_t n, double median, double grain) {
    double m = median;
    spread_search in = search_about(size, n, m, grain / 2, grain, size);
    in.low = fmax(in.low, 0);
    find(in, grain, 40, &m);
    return m;
}

/* Half a grain or more from 0, the median of the sizes as they are is not 0. */
double spread_median_about(const double *size, size_t n, double guess, double grain, double *work) {
    enum { FEW = 6 }; /* steps; where the guess is wrong, more are no use */
    double m = guess;
    if (!(grain > 0 && guess > grain / 2))
        return NAN;
    spread_search in = search_about(size, n, guess, grain + guess / 4, grain, work);
    in.low = fmax(in.low, grain / 2);
    return in.wanted > 0 && find(in, grain, FEW, &m) ? m : NAN;
}
