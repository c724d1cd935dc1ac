/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A stretch of evenly spaced samples. */
#include "even_stretch.h"

#include <stdint.h>

#include "dot.h"
#include "even_fours.h"
#include "wide.h"

enum { LANES = 8 }; /* windows that are summed side by side */

/* Whether no sample from the third on lies off the line of the two before it. */
SHOT_INLINE bool none_bends(const double *t, size_t count) {
    int64_t bends = 0; /* as wide as what is compared */
#pragma omp simd reduction(+ : bends)
    for (size_t i = 2; i < count; i++)
        bends += even_stretch_bends(t + i - 2) ? 1 : 0;
    return bends == 0;
}

/* How many samples there are before the first one that lies off the line of the two before it:
 * often that is seen at the first one. */
SHOT_WIDE static size_t samples_even(const double *t, size_t count) {
    enum { BLOCK = 16 };
    size_t i = 2;
    if (count > 2 && even_stretch_bends(t))
        return i;
    if (count > BLOCK && none_bends(t + 1, count - 1))
        return count;
    while (i + BLOCK <= count && none_bends(t + i - 2, BLOCK + 2))
        i += BLOCK;
    while (i < count && !even_stretch_bends(t + i - 2))
        i++;
    return i < count ? i : count;
}

/* How many windows are straight before the first one that is not. */
SHOT_WIDE static size_t windows_straight(const double *t, size_t n, size_t rows) {
    int64_t bent = 0;
#pragma omp simd reduction(+ : bent)
    for (size_t i = 0; i < rows; i++)
        bent += even_stretch_straight(t + i, n) ? 0 : 1;
    for (size_t i = 0; i < rows && bent > 0; i++)
        if (!even_stretch_straight(t + i, n))
            return i;
    return rows;
}

size_t even_stretch_rows(const double *t, size_t n, size_t rows) {
    const size_t samples = samples_even(t, rows + n - 1);
    return samples < n ? 0 : windows_straight(t, n, samples - n + 1);
}

/* ---- beside a hole ---- */

/* The first sample behind the hole of a window whose sample `off` is the first that lies off the
 * line of the two before it: `off` itself, or the one before it where the first step is the long
 * one. */
static size_t behind_hole(const double *t, size_t off) {
    const bool first = off == 2 && t[1] - t[0] > t[2] - t[1];
    return first ? 1 : off;
}

/* How many samples are missing in the one hole of a window, or 0.  Its first step or its last one
 * is that of the grid. */
static size_t missing_of(const double *t, size_t n) {
    const double first = t[1] - t[0], last = t[n - 1] - t[n - 2];
    const double lacks = (t[n - 1] - t[0]) / lesser(first, last) - (double)(n - 1);
    return lacks > 0.5 && lacks < EVEN_STRETCH_HOLE + 0.5 ? (size_t)(lacks + 0.5) : 0;
}

/* Whether the samples on either side of the hole of a window, and the middle one, lie where an even
 * grid puts them. */
static bool hole_fits(const double *t, size_t n, size_t behind, size_t missing) {
    const double last = t[n - 1], start = fabs(t[0]), end = fabs(last);
    const double rounding = even_stretch_rounding(start > end ? start : end);
    const double step = (last - t[0]) / (double)(n - 1 + missing);
    const size_t middle = n / 2 + (n / 2 >= behind ? missing : 0);
    return fabs(t[behind - 1] - (t[0] + (double)(behind - 1) * step)) <= rounding &&
           fabs(t[behind] - (t[0] + (double)(behind + missing) * step)) <= rounding &&
           fabs(t[n / 2] - (t[0] + (double)middle * step)) <= rounding;
}

size_t even_stretch_hole_rows(const double *t, size_t n, size_t rows, size_t *behind,
                              size_t *missing) {
    if (n < 4)
        return 0;
    const size_t off = samples_even(t, n), count = rows + n - 1;
    if (off == n || (*missing = missing_of(t, n)) == 0)
        return 0;
    *behind = behind_hole(t, off);
    const size_t end = *behind + samples_even(t + *behind, count - *behind);
    size_t fit = 0;
    while (fit < rows && fit < *behind && fit + n <= end &&
           hole_fits(t + fit, n, *behind - fit, *missing))
        fit++;
    return fit;
}

/* ---- sums ---- */

SHOT_INLINE void filter_lanes(const double *weight, size_t n, const double *y, double *out) {
    double sum[4][LANES] = {0};
    size_t k = 0;
    for (; k + 4 <= n; k += 4)
        for (size_t s = 0; s < 4; s++)
            for (size_t l = 0; l < LANES; l++)
                sum[s][l] += weight[k + s] * y[k + s + l];
    for (; k < n; k++)
        for (size_t l = 0; l < LANES; l++)
            sum[0][l] += weight[k] * y[k + l];
    for (size_t l = 0; l < LANES; l++)
        out[l] = (sum[0][l] + sum[1][l]) + (sum[2][l] + sum[3][l]);
}

/* The last lanes may be summed twice. */
SHOT_WIDE static void filter_rows(const double *weight, size_t n, const double *y, size_t rows,
                                  double *out) {
    for (size_t row = 0; row < rows && rows >= LANES; row += LANES) {
        const size_t first = row + LANES <= rows ? row : rows - LANES;
        filter_lanes(weight, n, y + first, out + first);
    }
    for (size_t i = 0; i < rows && rows < LANES; i++)
        out[i] = dot(weight, y + i, n);
}

void even_stretch_filter(const double *weight, size_t n, const double *y, size_t rows,
                         double *out) {
    if (!even_fours_filter(weight, n, y, rows, out))
        filter_rows(weight, n, y, rows, out);
}

SHOT_WIDE void even_stretch_units(const double *restrict t, size_t n, size_t rows,
                                  size_t derivative, double *restrict unit) {
    for (size_t i = 0; i < rows; i++)
        unit[i] = 1;
    for (size_t d = 0; d < derivative; d++)
        for (size_t i = 0; i < rows; i++)
            unit[i] /= (t[i + n - 1] - t[i]) / (double)(n - 1);
}
