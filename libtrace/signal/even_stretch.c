/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A stretch of evenly spaced samples. */
#include "even_stretch.h"

#include "dot.h"
#include "even_fours.h"
#include "wide.h"

enum { LANES = 8 }; /* windows that are summed side by side */

/* Whether no sample from the third on lies off the line of the two before it. */
SHOT_INLINE bool none_bends(const double *t, size_t count) {
    double bends = 0;
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
    while (i + BLOCK <= count && none_bends(t + i - 2, BLOCK + 2))
        i += BLOCK;
    while (i < count && !even_stretch_bends(t + i - 2))
        i++;
    return i < count ? i : count;
}

/* How many windows are straight before the first one that is not. */
SHOT_WIDE static size_t windows_straight(const double *t, size_t n, size_t rows) {
    double bent = 0;
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
