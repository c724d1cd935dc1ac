/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The steps of sliding_moments.c, written out for parabolas and cubics. */
#include "signal/moments_fours.h"

#include "lanes.h"

#if defined(SHOT_HAS_LANES)
enum { MOST_TERMS = MOMENTS_HIGHEST_ORDER + 1 };

#define OF_EACH(window, member)                                                                    \
    _mm256_set_pd((window)[3].member, (window)[2].member, (window)[1].member, (window)[0].member)

/* L and D of the normal matrix, and the lanes whose pivots are large enough. */
typedef struct factors {
    __m256d d0, d1, d2, d3, l10, l20, l21, l30, l31, l32, good;
} factors;

/* from - a * b */
IN_LANES __m256d less(__m256d from, __m256d a, __m256d b) {
    return _mm256_sub_pd(from, _mm256_mul_pd(a, b));
}

/* from - a * b * c */
IN_LANES __m256d less_two(__m256d from, __m256d a, __m256d b, __m256d c) {
    return less(from, _mm256_mul_pd(a, b), c);
}

/* Of a pivot and the diagonal that it came from. */
IN_LANES __m256d large_enough(__m256d pivot, __m256d diagonal) {
    const __m256d least = _mm256_mul_pd(_mm256_set1_pd(MOMENTS_LEAST_PIVOT), diagonal);
    return _mm256_cmp_pd(pivot, least, _CMP_GT_OQ);
}

IN_LANES factors factorise(const window_moments *window, size_t terms) {
    const __m256d p0 = OF_EACH(window, sum.power[0]), p1 = OF_EACH(window, sum.power[1]);
    const __m256d p2 = OF_EACH(window, sum.power[2]), p3 = OF_EACH(window, sum.power[3]);
    const __m256d p4 = OF_EACH(window, sum.power[4]);
    factors f = {.d0 = p0};
    f.l10 = _mm256_div_pd(p1, f.d0);
    f.d1 = less_two(p2, f.l10, f.l10, f.d0);
    f.l20 = _mm256_div_pd(p2, f.d0);
    f.l21 = _mm256_div_pd(less_two(p3, f.l20, f.l10, f.d0), f.d1);
    f.d2 = less_two(less_two(p4, f.l20, f.l20, f.d0), f.l21, f.l21, f.d1);
    f.good = _mm256_cmp_pd(p0, _mm256_set1_pd((double)terms), _CMP_GE_OQ);
    f.good = _mm256_and_pd(f.good, large_enough(f.d0, p0));
    f.good = _mm256_and_pd(f.good, large_enough(f.d1, p2));
    f.good = _mm256_and_pd(f.good, large_enough(f.d2, p4));
    if (terms < MOST_TERMS)
        return f;
    const __m256d p5 = OF_EACH(window, sum.power[5]), p6 = OF_EACH(window, sum.power[6]);
    f.l30 = _mm256_div_pd(p3, f.d0);
    f.l31 = _mm256_div_pd(less_two(p4, f.l30, f.l10, f.d0), f.d1);
    const __m256d rest = less_two(less_two(p5, f.l30, f.l20, f.d0), f.l31, f.l21, f.d1);
    f.l32 = _mm256_div_pd(rest, f.d2);
    f.d3 = less_two(less_two(p6, f.l30, f.l30, f.d0), f.l31, f.l31, f.d1);
    f.d3 = less_two(f.d3, f.l32, f.l32, f.d2);
    f.good = _mm256_and_pd(f.good, large_enough(f.d3, p6));
    return f;
}

/* Solve L D L' z = z. */
IN_LANES void solve(const factors *f, size_t terms, __m256d *z) {
    z[1] = less(z[1], f->l10, z[0]);
    z[2] = less(less(z[2], f->l20, z[0]), f->l21, z[1]);
    if (terms == MOST_TERMS) {
        z[3] = less(less(less(z[3], f->l30, z[0]), f->l31, z[1]), f->l32, z[2]);
        z[3] = _mm256_div_pd(z[3], f->d3);
    }
    z[2] = _mm256_div_pd(z[2], f->d2);
    if (terms == MOST_TERMS)
        z[2] = less(z[2], f->l32, z[3]);
    z[1] = less(_mm256_div_pd(z[1], f->d1), f->l21, z[2]);
    if (terms == MOST_TERMS)
        z[1] = less(z[1], f->l31, z[3]);
    z[0] = less(less(_mm256_div_pd(z[0], f->d0), f->l10, z[1]), f->l20, z[2]);
    if (terms == MOST_TERMS)
        z[0] = less(z[0], f->l30, z[3]);
}

/* The derivative of every power. */
IN_LANES void powers_at(__m256d x, size_t terms, size_t derivative, __m256d *at) {
    __m256d power = _mm256_set1_pd(1);
    for (size_t k = 0; k < terms; k++) {
        double factor = 1;
        for (size_t d = 0; d < derivative; d++)
            factor *= (double)k - (double)d;
        at[k] = k < derivative ? _mm256_setzero_pd() : _mm256_mul_pd(_mm256_set1_pd(factor), power);
        power = k < derivative ? power : _mm256_mul_pd(power, x);
    }
}

/* Sum of a * b. */
IN_LANES __m256d sum_of(const __m256d *a, const __m256d *b, size_t terms) {
    __m256d sum = _mm256_setzero_pd();
    for (size_t k = 0; k < terms; k++)
        sum = _mm256_add_pd(sum, _mm256_mul_pd(a[k], b[k]));
    return sum;
}

IN_LANES void hand_out(__m256d value, __m256d gain, __m256d good, moments_value *found) {
    double values[LANES], gains[LANES];
    const int bits = _mm256_movemask_pd(good);
    _mm256_storeu_pd(values, value);
    _mm256_storeu_pd(gains, gain);
    for (size_t l = 0; l < LANES; l++)
        found[l] = (moments_value){{values[l], gains[l]}, (bits >> l & 1) != 0};
}

IN_LANES void solve_for(const window_moments *window, size_t terms, size_t derivative,
                        moments_value *found) {
    const factors f = factorise(window, terms);
    __m256d here[MOST_TERMS], z[MOST_TERMS], with[MOST_TERMS], unit = _mm256_set1_pd(1);
    powers_at(OF_EACH(window, at), terms, derivative, here);
    for (size_t k = 0; k < terms; k++) {
        z[k] = here[k];
        with[k] = OF_EACH(window, sum.with[k]);
    }
    solve(&f, terms, z);
    __m256d value = sum_of(z, with, terms), gain = sum_of(z, here, terms);
    for (size_t d = 0; d < derivative; d++)
        unit = _mm256_div_pd(unit, OF_EACH(window, scale));
    value =
        derivative == 0 ? _mm256_add_pd(value, OF_EACH(window, level)) : _mm256_mul_pd(value, unit);
    gain = _mm256_mul_pd(_mm256_mul_pd(gain, unit), unit);
    hand_out(value, gain, f.good, found);
}

WITH_LANES static bool solve_fours(const window_moments *window, size_t order, size_t derivative,
                                   moments_value *found) {
    if (order == 2 && derivative == 0)
        solve_for(window, 3, 0, found);
    else if (order == 2 && derivative == 1)
        solve_for(window, 3, 1, found);
    else if (order == 3 && derivative == 0)
        solve_for(window, 4, 0, found);
    else if (order == 3 && derivative == 1)
        solve_for(window, 4, 1, found);
    else
        return false;
    return true;
}

bool moments_fours_solve(const window_moments *window, size_t order, size_t derivative,
                         moments_value *found) {
    return lanes_are_there() && solve_fours(window, order, derivative, found);
}

#else
bool moments_fours_solve(const window_moments *window, size_t order, size_t derivative,
                         moments_value *found) {
    return false;
}
#endif
