/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Short windows side by side.  Of two more than half of the values the least and the largest cannot
 * be the middle: they are put aside and another value comes in, until one or two are left (McGuire
 * 2008, 'A fast, small-radius GPU median filter', in ShaderX6, section 2).  The comparisons are the
 * same whatever the values are, so that all lanes take the same way. */
#include "window_lanes.h"

#include <math.h>

#include "wide.h"
#include "window_median.h"

enum { LANES = WINDOW_LANES };

typedef double lane_row[LANES];

SHOT_INLINE void copy_row(const double *from, double *to) {
#pragma omp simd
    for (size_t l = 0; l < LANES; l++)
        to[l] = from[l];
}

/* Of the first `held` rows let go the least and the largest in each lane; the others move up. */
SHOT_INLINE void put_aside(lane_row *value, size_t held) {
    lane_row least, largest;
#pragma omp simd
    for (size_t l = 0; l < LANES; l++) {
        least[l] = lesser(value[0][l], value[1][l]);
        largest[l] = greater(value[0][l], value[1][l]);
    }
    for (size_t k = 2; k < held; k++)
#pragma omp simd
        for (size_t l = 0; l < LANES; l++) {
            const double above = greater(value[k][l], least[l]);
            least[l] = lesser(value[k][l], least[l]);
            value[k - 2][l] = lesser(above, largest[l]);
            largest[l] = greater(above, largest[l]);
        }
}

/* The middle one, or of an even number the mean of the middle two, of the windows of n samples that
 * begin at y[0], y[1], ... */
SHOT_INLINE void find_medians(const double *y, size_t n, double *median) {
    lane_row value[WINDOW_LANES_LONGEST / 2 + 2];
    size_t held = n / 2 + 2, come = held;
    for (size_t k = 0; k < held; k++)
        copy_row(y + k, value[k]);
    for (put_aside(value, held); come < n; come++) {
        copy_row(y + come, value[held - 2]);
        put_aside(value, --held);
    }
#pragma omp simd
    for (size_t l = 0; l < LANES; l++)
        median[l] = n % 2 == 1 ? value[0][l] : window_median_middle(value[0][l], value[1][l]);
}

/* How many samples of each window lie nearer to its median than `distance`. */
SHOT_INLINE void count_nearer(const double *y, size_t n, const double *median,
                              const double *distance, double *count) {
#pragma omp simd
    for (size_t l = 0; l < LANES; l++)
        count[l] = 0;
    for (size_t k = 0; k < n; k++)
#pragma omp simd
        for (size_t l = 0; l < LANES; l++)
            count[l] += fabs(y[k + l] - median[l]) < distance[l] ? 1 : 0;
}

SHOT_INLINE void look(const double *y, size_t n, const double *own, double part, double *median,
                      bool *crowded) {
    double distance[LANES], count[LANES];
    find_medians(y, n, median);
#pragma omp simd
    for (size_t l = 0; l < LANES; l++)
        distance[l] = fabs(own[l] - median[l]) / part * (1 + 1e-12);
    count_nearer(y, n, median, distance, count);
#pragma omp simd
    for (size_t l = 0; l < LANES; l++)
        crowded[l] = 2 * count[l] > (double)(n - 1);
}

/* The last lanes may be looked at twice. */
SHOT_WIDE void window_lanes_look(const window_lanes *lanes, double part, double *median,
                                 bool *crowded) {
    for (size_t row = 0; row < lanes->rows; row += LANES) {
        const size_t first = row + LANES <= lanes->rows ? row : lanes->rows - LANES;
        look(lanes->y + first, lanes->n, lanes->own + first, part, median + first, crowded + first);
    }
}
