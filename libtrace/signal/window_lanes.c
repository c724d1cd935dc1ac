/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Short windows side by side.  Of two more than half of the values the least and the largest cannot
 * be the middle: they are put aside and another value comes in, until one or two are left (McGuire
 * 2008, 'A fast, small-radius GPU median filter', in ShaderX6, section 2).  The comparisons are the
 * same whatever the values are, so that all lanes take the same way. */
#include "window_lanes.h"

#include <math.h>

#include "wide.h"
#include "window_fours.h"
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

/* Windows down the lanes: sample k of lane l is y[k * stride + l]. */
typedef struct lane_windows {
    const double *y;
    size_t stride, height; /* samples in each lane, infinities included */
    lane_row samples;      /* of each window */
} lane_windows;

/* The middle one, or of an even number the mean of the middle two.  As many infinities above as
 * below leave the middle where it is; one more above makes an odd number even, and the lower one of
 * the middle two the middle. */
SHOT_INLINE void find_medians(const lane_windows *w, double *median) {
    lane_row value[WINDOW_LANES_LONGEST / 2 + 2];
    size_t held = w->height / 2 + 2, come = held;
    for (size_t k = 0; k < held; k++)
        copy_row(w->y + k * w->stride, value[k]);
    for (put_aside(value, held); come < w->height; come++) {
        copy_row(w->y + come * w->stride, value[held - 2]);
        put_aside(value, --held);
    }
    const double *other = value[w->height % 2 == 0];
#pragma omp simd
    for (size_t l = 0; l < LANES; l++) {
        const double half = w->samples[l] / 2, low = lesser(value[0][l], other[l]);
        const double both = window_median_middle(low, greater(value[0][l], other[l]));
        median[l] = half == floor(half) ? both : low;
    }
}

/* How many samples of each window lie nearer to its median than `distance`. */
SHOT_INLINE void count_nearer(const lane_windows *w, const double *median, const double *distance,
                              double *count) {
#pragma omp simd
    for (size_t l = 0; l < LANES; l++)
        count[l] = 0;
    for (size_t k = 0; k < w->height; k++)
#pragma omp simd
        for (size_t l = 0; l < LANES; l++)
            count[l] += fabs(w->y[k * w->stride + l] - median[l]) < distance[l] ? 1 : 0;
}

SHOT_INLINE void look(const lane_windows *w, const double *own, double part, double *median,
                      bool *crowded) {
    const double most = (1 + 1e-12) / part;
    lane_row distance, count;
    find_medians(w, median);
#pragma omp simd
    for (size_t l = 0; l < LANES; l++)
        distance[l] = fabs(own[l] - median[l]) * most;
    count_nearer(w, median, distance, count);
#pragma omp simd
    for (size_t l = 0; l < LANES; l++)
        crowded[l] = 2 * count[l] > w->samples[l] - 1;
}

/* The last lanes may be looked at twice. */
SHOT_WIDE static void look_at_rows(const double *y, size_t n, const double *own, size_t rows,
                                   double part, double *median, bool *crowded) {
    lane_windows w = {.stride = 1, .height = n};
    for (size_t l = 0; l < LANES; l++)
        w.samples[l] = (double)n;
    for (size_t row = 0; row < rows; row += LANES) {
        const size_t first = row + LANES <= rows ? row : rows - LANES;
        w.y = y + first;
        look(&w, own + first, part, median + first, crowded + first);
    }
}

void window_lanes_look(const double *y, size_t n, const double *own, size_t rows, double part,
                       double *median, bool *crowded) {
    if (!window_fours_look(y, n, own, rows, part, median, crowded))
        look_at_rows(y, n, own, rows, part, median, crowded);
}

/* Filled up to an even height, at least that of the least windows. */
static size_t height_of(const window_of_lane *windows, size_t count) {
    size_t most = WINDOW_LANES_LEAST;
    for (size_t l = 0; l < count; l++)
        most = windows[l].n > most ? windows[l].n : most;
    return most + most % 2;
}

/* Lanes that are not in use have the window of the last one. */
SHOT_WIDE void window_lanes_look_at(const window_of_lane *windows, const double *own, size_t count,
                                    double part, double *median, bool *crowded) {
    lane_row value[WINDOW_LANES_LONGEST], owns, medians;
    bool crowds[LANES];
    lane_windows w = {.y = value[0], .stride = LANES, .height = height_of(windows, count)};
    for (size_t l = 0; l < LANES; l++) {
        const size_t from = l < count ? l : count - 1;
        const window_of_lane *one = &windows[from];
        for (size_t k = 0; k < one->n; k++)
            value[k][l] = one->y[k];
        for (size_t k = one->n; k < w.height; k++)
            value[k][l] = (k - one->n) % 2 == 0 ? INFINITY : -INFINITY;
        w.samples[l] = (double)one->n;
        owns[l] = own[from];
    }
    look(&w, owns, part, medians, crowds);
    for (size_t l = 0; l < count; l++) {
        median[l] = medians[l];
        crowded[l] = crowds[l];
    }
}
