/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Short windows side by side.  Of two more than half of the values the least and the largest cannot
 * be the middle: they are put aside and another value comes in, until two are left (McGuire 2008,
 * 'A fast, small-radius GPU median filter', in ShaderX6, section 2).  The comparisons are the same
 * whatever the values are, so that all lanes take the same way. */
#include "window_lanes.h"

#include <math.h>
#include <string.h>

#include "wide.h"
#include "window_median.h"

/* ---- medians ---- */

typedef double lane_row[WINDOW_LANES];

SHOT_WIDE static void order_two(double *restrict a, double *restrict b, size_t count) {
    for (size_t l = 0; l < count; l++) {
        const double low = lesser(a[l], b[l]), high = greater(a[l], b[l]);
        a[l] = low;
        b[l] = high;
    }
}

/* Let `least` and `largest` change places with what is less and more of other values. */
SHOT_WIDE static void compare(double *restrict least, double *restrict largest,
                              double *restrict value, size_t count) {
    for (size_t l = 0; l < count; l++) {
        const double above = greater(value[l], least[l]);
        least[l] = lesser(value[l], least[l]);
        value[l] = lesser(above, largest[l]);
        largest[l] = greater(above, largest[l]);
    }
}

/* Put the least and the largest of n values, n > 2, in the first two places. */
static void put_aside(lane_row *value, size_t n, size_t count) {
    order_two(value[0], value[1], count);
    for (size_t k = 2; k < n; k++)
        compare(value[0], value[1], value[k], count);
}

/* Bring the two middle ones of an even number of values to the end of the lanes. */
static void find_middle(lane_row *value, size_t height, size_t count) {
    for (size_t first = 0, n = height / 2 + 2; n > 3; first += 2, n--)
        put_aside(value + first, n, count);
    order_two(value[height - 2], value[height - 1], count);
}

/* The middle one, or of an even number the mean of the middle two. */
SHOT_WIDE static void take_middle(const double *restrict low, const double *restrict high,
                                  const double *restrict samples, size_t count,
                                  double *restrict median) {
    for (size_t l = 0; l < count; l++) {
        const double half = samples[l] / 2, both = window_median_middle(low[l], high[l]);
        median[l] = half == floor(half) ? both : low[l];
    }
}

/* ---- filling ---- */

/* Windows of which each begins a sample behind the one before it, the first as given; in the order
 * that moves more at once.  They are filled up by as many values above all others as below, which
 * leaves the middle where it is; one more above makes the number even, and the lower one of the
 * middle two the middle of an odd number. */
static void fill_alike(window_lanes *lanes, const shot_window_view *view, size_t rows) {
    enum { FEW = 8 };
    const size_t lane = lanes->count;
    for (size_t k = 0; k < view->n && rows >= FEW; k++)
        memcpy(lanes->value[k] + lane, view->y + k, rows * sizeof *view->y);
    for (size_t l = 0; l < rows && rows < FEW; l++)
        for (size_t k = 0; k < view->n; k++)
            lanes->value[k][lane + l] = view->y[k + l];
    for (size_t k = view->n; k < lanes->height; k++)
        for (size_t l = 0; l < rows; l++)
            lanes->value[k][lane + l] = k % 2 == 1 ? INFINITY : -INFINITY;
    for (size_t l = 0; l < rows; l++)
        lanes->samples[lane + l] = (double)view->n;
    lanes->count += rows;
}

/* How many of the next rows find a lane, and the height that they need. */
static size_t count_rows(const window_batch *batch, window_row row, size_t *height) {
    size_t count = 0, longest = 2;
    while (row.row < batch->rows && count < WINDOW_LANES &&
           window_row_samples(&row) <= WINDOW_LANES_LONGEST) {
        const size_t rows = row.stretch->rows - row.at, samples = window_row_samples(&row);
        longest = samples > longest ? samples : longest;
        count += rows;
        window_row_move(&row, rows);
    }
    *height = longest + longest % 2;
    return count < WINDOW_LANES ? count : WINDOW_LANES;
}

void window_lanes_take(window_lanes *lanes, const window_batch *batch, const window_row *first) {
    window_row row = *first;
    const size_t count = count_rows(batch, row, &lanes->height);
    for (lanes->count = 0; lanes->count < count;) {
        const shot_window_view view = window_batch_view(batch, &row);
        const size_t left = row.stretch->rows - row.at, room = count - lanes->count,
                     rows = left < room ? left : room;
        fill_alike(lanes, &view, rows);
        window_row_move(&row, rows);
    }
    find_middle(lanes->value, lanes->height, count);
    take_middle(lanes->value[lanes->height - 2], lanes->value[lanes->height - 1], lanes->samples,
                count, lanes->median);
}

/* ---- deviations ---- */

SHOT_WIDE static void count_nearer(const double *restrict value, const double *restrict median,
                                   const double *restrict distance, size_t lanes,
                                   double *restrict count) {
    for (size_t l = 0; l < lanes; l++)
        count[l] += fabs(value[l] - median[l]) < distance[l] ? 1 : 0;
}

void window_lanes_count(const window_lanes *lanes, const double *distance, double *count) {
    for (size_t l = 0; l < lanes->count; l++)
        count[l] = 0;
    for (size_t k = 0; k < lanes->height; k++)
        count_nearer(lanes->value[k], lanes->median, distance, lanes->count, count);
}
