/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The way of round_short in number_round.c, four numbers at a time. */
#include "trace/number_lanes.h"

#include <stdint.h>

#include <shottrace/trace/number_text.h>

#include "lanes.h"
#include "trace/shortest_decimal.h"

#if defined(SHOT_HAS_LANES)
enum { MOST_DIGITS = 15, MOST_DECIMALS = 19, FRACTION_BITS = 52, BIAS = 1023 };

/* The power of ten at or one under numbers of usual size, and 64 more; see power_at_or_under. */
IN_LANES __m256i raised_power(__m256d magnitude) {
    enum { SCALE = 12, UP = 64 };
    const __m256i exponent = _mm256_srli_epi64(_mm256_castpd_si256(magnitude), FRACTION_BITS);
    const __m256i scaled = _mm256_mul_epu32(exponent, each(1233));
    return _mm256_srli_epi64(_mm256_sub_epi64(scaled, each(BIAS * 1233 - (UP << SCALE))), SCALE);
}

IN_LANES __m256d power_of_ten(__m256i decimals) {
    return _mm256_i64gather_pd(shot_exact_power_of_ten, decimals, 8);
}

/* Numbers that have the short way are rounded; a bit for each of those that have it or need none.
 */
IN_LANES unsigned round_four(double *value, int digits) {
    const __m256d sign = _mm256_set1_pd(-0.0), half = _mm256_set1_pd(0.5);
    const __m256d numbers = _mm256_loadu_pd(value), size = _mm256_andnot_pd(sign, numbers);
    const __m256d most = _mm256_set1_pd(shot_exact_power_of_ten[digits]);
    const __m256d usual = _mm256_and_pd(_mm256_cmp_pd(size, _mm256_set1_pd(1e-5), _CMP_GE_OQ),
                                        _mm256_cmp_pd(size, _mm256_set1_pd(1e15), _CMP_LT_OQ));
    const __m256d magnitude = _mm256_blendv_pd(_mm256_set1_pd(1.5), size, usual);
    const __m256i wanted =
        _mm256_sub_epi64(each((uint64_t)digits + 63), raised_power(magnitude)); /* decimals */
    const __m256i fits = _mm256_and_si256(_mm256_cmpgt_epi64(wanted, each(0)),
                                          _mm256_cmpgt_epi64(each(MOST_DECIMALS + 1), wanted));
    const __m256i first = _mm256_blendv_epi8(each(1), wanted, fits);
    const __m256d too_large =
        _mm256_cmp_pd(_mm256_mul_pd(magnitude, power_of_ten(first)), most, _CMP_GE_OQ);
    const __m256d power =
        power_of_ten(_mm256_add_epi64(first, _mm256_castpd_si256(too_large))); /* one less */
    const __m256d scaled = _mm256_mul_pd(magnitude, power), below = _mm256_floor_pd(scaled);
    const __m256d over_half = _mm256_sub_pd(_mm256_sub_pd(scaled, below), half);
    const __m256d clear = _mm256_cmp_pd(_mm256_andnot_pd(sign, over_half),
                                        _mm256_mul_pd(_mm256_set1_pd(0x1p-52), scaled), _CMP_GT_OQ);
    const __m256d up =
        _mm256_and_pd(_mm256_cmp_pd(over_half, _mm256_setzero_pd(), _CMP_GT_OQ), _mm256_set1_pd(1));
    const __m256d rounded = _mm256_div_pd(_mm256_add_pd(below, up), power);
    const __m256d easy = _mm256_and_pd(_mm256_and_pd(usual, _mm256_castsi256_pd(fits)), clear);
    const __m256d none = _mm256_cmp_pd(size, _mm256_setzero_pd(), _CMP_NGT_UQ); /* 0, missing */
    const __m256d with_sign = _mm256_or_pd(rounded, _mm256_and_pd(sign, numbers));
    _mm256_storeu_pd(value, _mm256_blendv_pd(numbers, with_sign, easy));
    return (unsigned)_mm256_movemask_pd(_mm256_or_pd(easy, none));
}

WITH_LANES size_t number_lanes_round(double *value, size_t n, int digits) {
    size_t i = 0;
    if (digits > MOST_DIGITS)
        return 0;
    for (; i + LANES <= n; i += LANES) {
        const unsigned done = round_four(value + i, digits);
        for (size_t l = 0; l < LANES && done != (1u << LANES) - 1; l++)
            if ((done >> l & 1) == 0)
                value[i + l] = shot_number_round(value[i + l], digits);
    }
    return i;
}

#else
size_t number_lanes_round(double *value, size_t n, int digits) {
    return 0;
}
#endif
