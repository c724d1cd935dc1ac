/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Short windows side by side.  A sample leaves a column in order and another one enters it by the
 * same comparisons wherever their places are, so that all lanes take the same way. */
#include "window_lanes.h"

#include <math.h>
#include <stdbool.h>

#include <shottrace/signal/median.h>

#include "wide.h"
#include "window_median.h"

enum { LANES = WINDOW_LANES };

void window_lanes_start(window_lanes *lanes, size_t longest) {
    lanes->height = longest;
    for (size_t l = 0; l < LANES; l++)
        lanes->low[l] = lanes->high[l] = 0;
    for (size_t k = 0; k <= longest; k++)
        for (size_t l = 0; l < LANES; l++)
            lanes->sorted[k][l] = INFINITY;
}

/* One sample leaves each column and one enters it; an infinite one stands for none.  What is not
 * below the one that leaves moves up by a place; what comes to place k then is the middle one of
 * the sample that enters and its neighbours there. */
SHOT_WIDE static void exchange(double (*restrict sorted)[LANES], size_t height,
                               const double *restrict leaves, const double *restrict enters) {
    double above[LANES], left[LANES];
    for (size_t l = 0; l < LANES; l++)
        above[l] = -INFINITY;
    for (size_t k = 0; k < height; k++) {
#pragma omp simd
        for (size_t l = 0; l < LANES; l++) {
            const double here = sorted[k][l], next = sorted[k + 1][l];
            left[l] = here < leaves[l] ? here : next;
        }
#pragma omp simd
        for (size_t l = 0; l < LANES; l++) {
            sorted[k][l] = greater(above[l], lesser(enters[l], left[l]));
            above[l] = left[l];
        }
    }
}

/* Bring each lane a sample nearer to the window of its row; false if all are there. */
static bool step(window_lanes *lanes, const window_batch *batch, const size_t *row) {
    double leaves[LANES], enters[LANES];
    size_t moves = 0;
    for (size_t l = 0; l < LANES; l++) {
        const bool out = lanes->low[l] < batch->low[row[l]];
        const bool in = lanes->high[l] < batch->high[row[l]];
        leaves[l] = out ? batch->y[lanes->low[l]] : INFINITY;
        enters[l] = in ? batch->y[lanes->high[l]] : INFINITY;
        lanes->low[l] += out;
        lanes->high[l] += in;
        moves += out | in;
    }
    if (moves == 0)
        return false;
    exchange(lanes->sorted, lanes->height, leaves, enters);
    return true;
}

/* A lane that holds nothing of its next window begins with it. */
static void skip(window_lanes *lanes, const window_batch *batch, const size_t *row) {
    for (size_t l = 0; l < LANES; l++)
        if (lanes->low[l] == lanes->high[l])
            lanes->low[l] = lanes->high[l] = batch->low[row[l]];
}

void window_lanes_follow(window_lanes *lanes, const window_batch *batch, const size_t *row) {
    skip(lanes, batch, row);
    while (step(lanes, batch, row))
        continue;
    for (size_t l = 0; l < LANES; l++) {
        const size_t n = lanes->high[l] - lanes->low[l];
        const double upper = lanes->sorted[n / 2][l];
        lanes->median[l] =
            n % 2 == 1 ? upper : window_median_middle(lanes->sorted[n / 2 - 1][l], upper);
    }
}

SHOT_WIDE static void count_nearer(const window_lanes *restrict lanes, size_t n,
                                   const double *restrict distance, double *restrict count) {
    double nearer[LANES] = {0};
    for (size_t k = 0; k < n; k++)
        for (size_t l = 0; l < LANES; l++)
            nearer[l] += fabs(lanes->sorted[k][l] - lanes->median[l]) < distance[l] ? 1 : 0;
    for (size_t l = 0; l < LANES; l++)
        count[l] = nearer[l];
}

void window_lanes_count(const window_lanes *lanes, const double *distance, double *count) {
    count_nearer(lanes, lanes->height, distance, count);
}

double window_lanes_mad(const window_lanes *lanes, size_t lane) {
    const size_t n = lanes->high[lane] - lanes->low[lane];
    double deviation[WINDOW_LANES_LONGEST];
    for (size_t k = 0; k < n; k++)
        deviation[k] = fabs(lanes->sorted[k][lane] - lanes->median[lane]);
    return shot_median(deviation, n);
}
