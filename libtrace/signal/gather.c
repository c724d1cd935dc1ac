/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which values are wanted cannot be foreseen: each is written, and overwritten by the next one if
 * it is not. */
#include "signal/gather.h"

#include "lanes.h"

/* The values from number i on, behind `kept` others. */
static size_t gather_from(size_t i, size_t kept, const double *key, const double *value, size_t n,
                          double low, double high, double *out, size_t *below) {
    for (; i < n; i++) {
        const double x = key[i];
        out[kept] = value[i];
        kept += (x >= low) & (x <= high);
        *below += x < low;
    }
    return kept;
}

#if defined(SHOT_HAS_LANES)
/* For each choice of four values the pairs of 32 bits that they consist of, and how many they are.
 */
static const uint8_t pairs[16][2 * LANES] = {
    {0},
    {0, 1},
    {2, 3},
    {0, 1, 2, 3},
    {4, 5},
    {0, 1, 4, 5},
    {2, 3, 4, 5},
    {0, 1, 2, 3, 4, 5},
    {6, 7},
    {0, 1, 6, 7},
    {2, 3, 6, 7},
    {0, 1, 2, 3, 6, 7},
    {4, 5, 6, 7},
    {0, 1, 4, 5, 6, 7},
    {2, 3, 4, 5, 6, 7},
    {0, 1, 2, 3, 4, 5, 6, 7},
};
static const uint8_t counts[16] = {0, 1, 1, 2, 1, 2, 2, 3, 1, 2, 2, 3, 2, 3, 3, 4};

/* Four at a time.  No more is overwritten than was read. */
WITH_LANES static size_t gather_fours(const double *key, const double *value, size_t n, double low,
                                      double high, double *out, size_t *below) {
    const __m256d lows = _mm256_set1_pd(low), highs = _mm256_set1_pd(high);
    __m256i under = _mm256_setzero_si256();
    size_t i = 0, kept = 0;
    for (; i + LANES <= n; i += LANES) {
        const __m256d x = _mm256_loadu_pd(key + i);
        const __m256d less = _mm256_cmp_pd(x, lows, _CMP_LT_OQ);
        const __m256d in = _mm256_andnot_pd(less, _mm256_cmp_pd(x, highs, _CMP_LE_OQ));
        const unsigned wanted = (unsigned)_mm256_movemask_pd(in);
        const __m128i bytes = _mm_loadl_epi64((const __m128i *)(const void *)pairs[wanted]);
        const __m256 numbers = _mm256_castpd_ps(_mm256_loadu_pd(value + i));
        const __m256 chosen = _mm256_permutevar8x32_ps(numbers, _mm256_cvtepu8_epi32(bytes));
        _mm256_storeu_pd(out + kept, _mm256_castps_pd(chosen));
        kept += counts[wanted];
        under = _mm256_sub_epi64(under, _mm256_castpd_si256(less));
    }
    uint64_t sums[LANES];
    _mm256_storeu_si256((__m256i *)(void *)sums, under);
    *below = (size_t)((sums[0] + sums[1]) + (sums[2] + sums[3]));
    return gather_from(i, kept, key, value, n, low, high, out, below);
}

size_t gather_between(const double *key, const double *value, size_t n, double low, double high,
                      double *out, size_t *below) {
    *below = 0;
    return lanes_are_there() ? gather_fours(key, value, n, low, high, out, below)
                             : gather_from(0, 0, key, value, n, low, high, out, below);
}

#else
size_t gather_between(const double *key, const double *value, size_t n, double low, double high,
                      double *out, size_t *below) {
    *below = 0;
    return gather_from(0, 0, key, value, n, low, high, out, below);
}
#endif
