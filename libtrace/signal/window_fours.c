/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The steps of window_lanes.c, written out for each length.  Sample k of window l is y[k * apart +
 * l]. */
#include "signal/window_fours.h"

#include <string.h>

#include "lanes.h"

#if defined(SHOT_HAS_LANES)
enum { LONGEST = 12 };

/* Of `held` values let go the least and the largest; the others move up. */
IN_LANES void put_aside(__m256d *value, size_t held) {
    __m256d least = _mm256_min_pd(value[0], value[1]), largest = _mm256_max_pd(value[0], value[1]);
    for (size_t k = 2; k < held; k++) {
        const __m256d above = _mm256_max_pd(value[k], least);
        least = _mm256_min_pd(value[k], least);
        value[k - 2] = _mm256_min_pd(above, largest);
        largest = _mm256_max_pd(above, largest);
    }
}

/* The mean of the two middle ones; their sum could overflow. */
IN_LANES __m256d mean_of(__m256d a, __m256d b) {
    const __m256d low = _mm256_min_pd(a, b), high = _mm256_max_pd(a, b);
    const __m256d half = _mm256_set1_pd(0.5);
    const __m256d mean = _mm256_add_pd(_mm256_mul_pd(low, half), _mm256_mul_pd(high, half));
    return _mm256_blendv_pd(mean, low, _mm256_cmp_pd(low, high, _CMP_EQ_OQ));
}

/* One more than half of the samples are in at first; the `step`th of the others comes in. */
IN_LANES void come_in(__m256d *value, const double *y, size_t n, size_t apart, size_t step) {
    const size_t come = n / 2 + 2 + step;
    if (come >= n)
        return;
    value[n / 2 - step] = _mm256_loadu_pd(y + come * apart);
    put_aside(value, n / 2 + 1 - step);
}

IN_LANES __m256d median_of(const double *y, size_t n, size_t apart) {
    __m256d value[LONGEST / 2 + 2];
    for (size_t k = 0; k < n / 2 + 2; k++)
        value[k] = _mm256_loadu_pd(y + k * apart);
    put_aside(value, n / 2 + 2);
    come_in(value, y, n, apart, 0);
    come_in(value, y, n, apart, 1);
    come_in(value, y, n, apart, 2);
    come_in(value, y, n, apart, 3); /* the last one of LONGEST */
    return n % 2 == 0 ? mean_of(value[0], value[1]) : value[0];
}

/* A bit for each window in which more than half of the other samples lie nearer than `distance`. */
IN_LANES unsigned crowded_ones(const double *y, size_t n, __m256d median, __m256d distance) {
    const __m256d sign = _mm256_set1_pd(-0.0);
    __m256i nearer = _mm256_setzero_si256(); /* less one for each */
    for (size_t k = 0; k < n; k++) {
        const __m256d off = _mm256_andnot_pd(sign, _mm256_sub_pd(_mm256_loadu_pd(y + k), median));
        nearer =
            _mm256_add_epi64(nearer, _mm256_castpd_si256(_mm256_cmp_pd(off, distance, _CMP_LT_OQ)));
    }
    const __m256i half = _mm256_set1_epi64x(-(long long)((n - 1) / 2));
    return (unsigned)_mm256_movemask_pd(_mm256_castsi256_pd(_mm256_cmpgt_epi64(half, nearer)));
}

/* The last windows may be looked at twice. */
IN_LANES void look(const double *y, size_t n, const double *own, size_t rows, double part,
                   double *median, bool *crowded) {
    const __m256d sign = _mm256_set1_pd(-0.0), most = _mm256_set1_pd((1 + 1e-12) / part);
    for (size_t row = 0; row < rows; row += LANES) {
        const size_t i = row + LANES <= rows ? row : rows - LANES;
        const __m256d middle = median_of(y + i, n, 1);
        const __m256d off = _mm256_andnot_pd(sign, _mm256_sub_pd(_mm256_loadu_pd(own + i), middle));
        const __m256d distance = _mm256_mul_pd(off, most);
        const unsigned bits = crowded_ones(y + i, n, middle, distance);
        const uint32_t bytes = (uint32_t)bits * 0x204081u & 0x1010101u; /* a bit in each */
        _mm256_storeu_pd(median + i, middle);
        memcpy(crowded + i, &bytes, sizeof bytes);
    }
}

/* `row` for each of the lengths. */
#define FOR_EACH_LENGTH(row) row(5) row(6) row(7) row(8) row(9) row(10) row(11) row(LONGEST)

#define LOOK(length)                                                                               \
    case length:                                                                                   \
        look(y, length, own, rows, part, median, crowded);                                         \
        return true;

WITH_LANES static bool look_at(const double *y, size_t n, const double *own, size_t rows,
                               double part, double *median, bool *crowded) {
    switch (n) {
        FOR_EACH_LENGTH(LOOK)
    default:
        return false;
    }
}

bool window_fours_look(const double *y, size_t n, const double *own, size_t rows, double part,
                       double *median, bool *crowded) {
    return rows >= LANES && lanes_are_there() && look_at(y, n, own, rows, part, median, crowded);
}

#define DEVIATE(length)                                                                            \
    case length:                                                                                   \
        _mm256_storeu_pd(mad, median_of(off, length, LANES));                                      \
        return true;

WITH_LANES static bool deviate(const double *const *y, const double *median, size_t n,
                               double *mad) {
    const __m256d sign = _mm256_set1_pd(-0.0), medians = _mm256_loadu_pd(median);
    double off[LONGEST * LANES];
    for (size_t k = 0; k < n && k < LONGEST; k++) {
        const __m256d samples = _mm256_set_pd(y[3][k], y[2][k], y[1][k], y[0][k]);
        const __m256d deviation = _mm256_andnot_pd(sign, _mm256_sub_pd(samples, medians));
        _mm256_storeu_pd(off + k * LANES, deviation);
    }
    switch (n) {
        FOR_EACH_LENGTH(DEVIATE)
    default:
        return false;
    }
}

bool window_fours_deviate(const double *const *y, const double *median, size_t n, double *mad) {
    return lanes_are_there() && deviate(y, median, n, mad);
}

#else
bool window_fours_look(const double *y, size_t n, const double *own, size_t rows, double part,
                       double *median, bool *crowded) {
    return false;
}

bool window_fours_deviate(const double *const *y, const double *median, size_t n, double *mad) {
    return false;
}
#endif
