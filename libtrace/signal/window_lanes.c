/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Short windows side by side, sorted by a network: its comparisons do not depend on the values, so
 * that all lanes take the same way. */
#include "window_lanes.h"

#include <math.h>
#include <stdbool.h>

#include <shottrace/signal/median.h>

#include "wide.h"
#include "window_median.h"

enum { LANES = WINDOW_LANES, LONGEST = WINDOW_LANES_LONGEST };

static size_t longest_of(const window_lanes *lanes) {
    size_t longest = 0;
    for (size_t l = 0; l < LANES; l++)
        longest = lanes->n[l] > longest ? lanes->n[l] : longest;
    return longest;
}

/* Whether the windows fill all lanes, are equally long and follow each other by one sample. */
static bool are_in_step(const window_batch *batch, size_t first, size_t rows) {
    const size_t low = batch->low[first], high = batch->high[first];
    size_t odd = rows != LANES;
    for (size_t l = 1; l < rows; l++)
        odd += batch->low[first + l] != low + l || batch->high[first + l] != high + l;
    return odd == 0;
}

SHOT_WIDE static void load_in_step(const double *restrict y, size_t n,
                                   double (*restrict out)[LANES]) {
    for (size_t k = 0; k < n; k++)
        for (size_t l = 0; l < LANES; l++)
            out[k][l] = y[k + l];
}

/* Shorter windows get values at the end that sort last. */
static void load_each(const window_batch *batch, size_t first, size_t longest, window_lanes *out) {
    for (size_t l = 0; l < LANES; l++) {
        const double *y = out->n[l] > 0 ? batch->y + batch->low[first + l] : NULL;
        for (size_t k = 0; k < longest; k++)
            out->sorted[k][l] = k < out->n[l] ? y[k] : INFINITY;
    }
}

/* Both results are complete before either is stored: else a store of what is there already becomes a
 * branch, which for half of all comparisons cannot be foreseen. */
SHOT_INLINE void compare_exchange(double *restrict low, double *restrict high) {
    double less[LANES], more[LANES];
#pragma omp simd
    for (size_t l = 0; l < LANES; l++) {
        less[l] = lesser(low[l], high[l]);
        more[l] = greater(high[l], low[l]);
    }
#pragma omp simd
    for (size_t l = 0; l < LANES; l++) {
        low[l] = less[l];
        high[l] = more[l];
    }
}

/* Merge exchange (Batcher 1968; Knuth 1998, 'The Art of Computer Programming' 3, section 5.2.2,
 * algorithm M): any number of rows, the same comparisons for all data. */
static void make_network(sorting_network *network, size_t n) {
    size_t top = 1;
    while (2 * top < n)
        top *= 2;
    *network = (sorting_network){.n = n};
    for (size_t p = top; p > 0; p /= 2)
        for (size_t q = top, r = 0, d = p;; d = q - p, q /= 2, r = p) {
            for (size_t i = 0; i + d < n; i++)
                if ((i & p) == r) {
                    network->low[network->count] = (uint8_t)i;
                    network->high[network->count++] = (uint8_t)(i + d);
                }
            if (q == p)
                break;
        }
}

SHOT_WIDE static void sort_columns(const sorting_network *network, double (*x)[LANES]) {
    for (size_t i = 0; i < network->count; i++)
        compare_exchange(x[network->low[i]], x[network->high[i]]);
}

/* Lengths that vary a little from row to row, as in time they do, share a network. */
static void fit_network(sorting_network *network, size_t longest, double (*x)[LANES]) {
    enum { SPARE = 2 };
    if (longest > network->n || longest + SPARE < network->n)
        make_network(network, longest);
    for (size_t k = longest; k < network->n; k++)
        for (size_t l = 0; l < LANES; l++)
            x[k][l] = INFINITY;
}

void window_lanes_sort(const window_batch *batch, size_t first, size_t rows,
                       sorting_network *network, window_lanes *out) {
    for (size_t l = 0; l < LANES; l++)
        out->n[l] = l < rows ? batch->high[first + l] - batch->low[first + l] : 0;
    const size_t longest = longest_of(out);
    if (are_in_step(batch, first, rows))
        load_in_step(batch->y + batch->low[first], longest, out->sorted);
    else
        load_each(batch, first, longest, out);
    fit_network(network, longest, out->sorted);
    sort_columns(network, out->sorted);
    for (size_t l = 0; l < LANES; l++) {
        const size_t n = out->n[l];
        const double upper = n > 0 ? out->sorted[n / 2][l] : NAN;
        out->median[l] =
            n % 2 == 1 || n == 0 ? upper : window_median_middle(out->sorted[n / 2 - 1][l], upper);
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
    count_nearer(lanes, longest_of(lanes), distance, count);
}

double window_lanes_mad(const window_lanes *lanes, size_t lane) {
    double deviation[LONGEST];
    for (size_t k = 0; k < lanes->n[lane]; k++)
        deviation[k] = fabs(lanes->sorted[k][lane] - lanes->median[lane]);
    return shot_median(deviation, lanes->n[lane]);
}
