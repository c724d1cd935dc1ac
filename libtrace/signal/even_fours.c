/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sums of dot(), each number of a vector for a window of its own. */
#include "signal/even_fours.h"

#include "lanes.h"

#if defined(SHOT_HAS_LANES)
enum { SUMS = 4 }; /* that take the products in turn, as in dot() */

/* The next product of each window joins its sum. */
IN_LANES __m256d add_product(__m256d sum, __m256d weight, const double *y) {
    return _mm256_add_pd(sum, _mm256_mul_pd(weight, _mm256_loadu_pd(y)));
}

IN_LANES void store_total(const __m256d *sum, double *out) {
    _mm256_storeu_pd(out,
                     _mm256_add_pd(_mm256_add_pd(sum[0], sum[1]), _mm256_add_pd(sum[2], sum[3])));
}

/* Four windows. */
IN_LANES void filter_four(const double *weight, size_t n, const double *y, double *out) {
    __m256d sum[SUMS] = {_mm256_setzero_pd(), _mm256_setzero_pd(), _mm256_setzero_pd(),
                         _mm256_setzero_pd()};
    size_t k = 0;
    for (; k + SUMS <= n; k += SUMS)
        for (size_t s = 0; s < SUMS; s++)
            sum[s] = add_product(sum[s], _mm256_set1_pd(weight[k + s]), y + k + s);
    for (; k < n; k++)
        sum[0] = add_product(sum[0], _mm256_set1_pd(weight[k]), y + k);
    store_total(sum, out);
}

/* Twice as many, for which each weight is fetched once. */
IN_LANES void filter_eight(const double *weight, size_t n, const double *y, double *out) {
    __m256d sum[SUMS] = {_mm256_setzero_pd(), _mm256_setzero_pd(), _mm256_setzero_pd(),
                         _mm256_setzero_pd()};
    __m256d more[SUMS] = {_mm256_setzero_pd(), _mm256_setzero_pd(), _mm256_setzero_pd(),
                          _mm256_setzero_pd()};
    size_t k = 0;
    for (; k + SUMS <= n; k += SUMS)
        for (size_t s = 0; s < SUMS; s++) {
            const __m256d one = _mm256_set1_pd(weight[k + s]);
            sum[s] = add_product(sum[s], one, y + k + s);
            more[s] = add_product(more[s], one, y + k + s + LANES);
        }
    for (; k < n; k++) {
        const __m256d one = _mm256_set1_pd(weight[k]);
        sum[0] = add_product(sum[0], one, y + k);
        more[0] = add_product(more[0], one, y + k + LANES);
    }
    store_total(sum, out);
    store_total(more, out + LANES);
}

/* The last windows may be summed twice. */
WITH_LANES static void filter_rows(const double *weight, size_t n, const double *y, size_t rows,
                                   double *out) {
    size_t row = 0;
    for (; row + 2 * LANES <= rows; row += 2 * LANES)
        filter_eight(weight, n, y + row, out + row);
    for (; row < rows; row += LANES) {
        const size_t first = row + LANES <= rows ? row : rows - LANES;
        filter_four(weight, n, y + first, out + first);
    }
}

bool even_fours_filter(const double *weight, size_t n, const double *y, size_t rows, double *out) {
    if (rows < LANES || !lanes_are_there())
        return false;
    filter_rows(weight, n, y, rows, out);
    return true;
}

#else
bool even_fours_filter(const double *weight, size_t n, const double *y, size_t rows, double *out) {
    return false;
}
#endif
