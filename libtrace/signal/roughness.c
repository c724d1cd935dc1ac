/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Means of a window that slides.  Its sum moves on by four samples at once, so that it waits for
 * one addition and not for eight. */
#include "signal/roughness.h"

#include "inline.h"
#include "lanes.h"

enum { AT_ONCE = 4 };

/* Values come in, as many leave; out[0..3] are the means on the way.  Returns the sum behind them.
 */
SHOT_INLINE double four_means(double sum, const double *in, const double *leaves, double share,
                              double *out) {
    const double a = in[0] - leaves[0], b = in[1] - leaves[1];
    const double c = in[2] - leaves[2], d = in[3] - leaves[3];
    const double two = a + b, four = two + (c + d);
    out[0] = (sum + a) * share;
    out[1] = (sum + two) * share;
    out[2] = (sum + (a + (b + c))) * share;
    out[3] = (sum + four) * share;
    return sum + four;
}

#if defined(SHOT_HAS_LANES)
/* The same, side by side: each change and the one before it, and the two before those. */
WITH_LANES static double fours_in_lanes(double sum, const double *in, const double *leaves,
                                        double share, size_t fours, double *out) {
    const __m256d shares = _mm256_set1_pd(share), none = _mm256_setzero_pd();
    __m256d sums = _mm256_set1_pd(sum);
    for (size_t i = 0; i < AT_ONCE * fours; i += AT_ONCE) {
        const __m256d one = _mm256_sub_pd(_mm256_loadu_pd(in + i), _mm256_loadu_pd(leaves + i));
        const __m256d before = _mm256_blend_pd(_mm256_permute4x64_pd(one, 0x90), none, 1);
        const __m256d two = _mm256_add_pd(one, before);
        const __m256d four = _mm256_add_pd(two, _mm256_permute2f128_pd(two, two, 0x08));
        _mm256_storeu_pd(out + i, _mm256_mul_pd(_mm256_add_pd(sums, four), shares));
        sums = _mm256_add_pd(sums, _mm256_permute4x64_pd(four, 0xff));
    }
    return _mm256_cvtsd_f64(sums);
}
#endif

static double all_fours(double sum, const double *in, const double *leaves, double share,
                        size_t fours, double *out) {
#if defined(SHOT_HAS_LANES)
    if (lanes_are_there())
        return fours_in_lanes(sum, in, leaves, share, fours, out);
#endif
    for (size_t i = 0; i < AT_ONCE * fours; i += AT_ONCE)
        sum = four_means(sum, in + i, leaves + i, share, out + i);
    return sum;
}

void roughness(const double *size, size_t n, size_t reach, double *out) {
    const double share = 1 / (double)(2 * reach + 1);
    double sum = 0;
    size_t from = 1, to = 1; /* samples whose residuals are in the sum */
    for (size_t i = 0; i < n; i++) {
        const size_t last = i + reach + 1 < n - 1 ? i + reach + 1 : n - 1;
        for (; to < last; to++)
            sum += size[to - 1];
        for (; from + reach < i && from + 1 < to; from++)
            sum -= size[from - 1];
        out[i] = sum / (double)(to - from);
        if (i <= reach ||
            i + reach + 2 >= n) /* else both ends move on, as long as there are samples */
            continue;
        const size_t fours = (n - i - reach - 2) / AT_ONCE, rows = AT_ONCE * fours;
        sum = all_fours(sum, size + to - 1, size + from - 1, share, fours, out + i + 1);
        from += rows;
        to += rows;
        i += rows;
    }
}
