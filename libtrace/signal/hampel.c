/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Hampel identifier over the median of a window that slides. */
#include <shottrace/signal/hampel.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/median.h>

#include "wide.h"
#include "window_batch.h"
#include "window_median.h"

/* Windows up to this length, in samples, are looked through for what surely is no spike; longer
 * ones are kept in order anyway.  Fewer rows than that are not worth the start. */
enum { WIDEST = 128, FEWEST = 4 };

struct shot_hampel {
    shot_sliding_window *window;
    window_median order;
    double threshold, floor;
    double middle; /* the last median that was passed: the next one is near */
};

shot_status shot_hampel_new(const shot_hampel_rule *rule, shot_hampel **out) {
    *out = NULL;
    if (!(rule->threshold >= 0) || !(rule->floor >= 0))
        return SHOT_ERR_RANGE;
    shot_hampel *hampel = calloc(1, sizeof *hampel);
    if (hampel == NULL)
        return SHOT_ERR_MEMORY;
    hampel->threshold = rule->threshold;
    hampel->floor = rule->floor;
    const shot_status status =
        shot_sliding_window_new(rule->reach, SHOT_ENDS_CUT, SHOT_MISSING_SERVED, &hampel->window);
    if (status != SHOT_OK) {
        free(hampel);
        return status;
    }
    *out = hampel;
    return SHOT_OK;
}

void shot_hampel_free(shot_hampel *hampel) {
    if (hampel == NULL)
        return;
    shot_sliding_window_free(hampel->window);
    window_median_free(&hampel->order);
    free(hampel);
}

void shot_hampel_reset(shot_hampel *hampel) {
    shot_sliding_window_reset(hampel->window);
    window_median_clear(&hampel->order);
}

shot_status shot_hampel_push(shot_hampel *hampel, double t, double y) {
    return shot_sliding_window_push(hampel->window, t, y);
}

shot_status shot_hampel_push_block(shot_hampel *hampel, const double *t, const double *y,
                                   size_t n) {
    return shot_sliding_window_push_block(hampel->window, t, y, n);
}

void shot_hampel_finish(shot_hampel *hampel) {
    shot_sliding_window_finish(hampel->window);
}

shot_status shot_hampel_next(shot_hampel *hampel, shot_hampel_at *at, bool *ready) {
    shot_window_view view;
    *ready = shot_sliding_window_next(hampel->window, &view);
    if (!*ready)
        return SHOT_OK;
    double median = NAN, mad = NAN;
    if (view.n > 0) {
        SHOT_TRY(window_median_follow(&hampel->order, &view));
        median = window_median_value(&hampel->order, view.n);
        mad = window_median_mad(&hampel->order, median, view.n);
    }
    const double scale = fmax(SHOT_MAD_TO_SD * mad, hampel->floor);
    *at = (shot_hampel_at){
        .t = view.at,
        .value = view.value,
        .median = median,
        .scale = scale,
        .n = view.n,
        .known = view.known,
        .spike = fabs(view.value - median) > hampel->threshold * scale,
    };
    return SHOT_OK;
}

/* ---- what surely is no spike ---- */

/* A value of the window, and how many are below and above it. */
typedef struct middle {
    double value;
    size_t below, above;
} middle;

/* Windows are looked through LANES samples at a time; those behind the window's end do not count,
 * but must be there to be read. */
enum { LANES = 16 };

SHOT_INLINE double inside(double value, int lane, double left) {
    return lane < left ? value : NAN;
}

SHOT_INLINE void count_sides(const double *y, size_t n, middle *at) {
    const double value = at->value;
    double below = 0, above = 0;
    for (size_t i = 0; i < n; i += LANES) {
        const double left = (double)(n - i);
#pragma omp simd reduction(+ : below) reduction(+ : above)
        for (int l = 0; l < LANES; l++) {
            const double x = inside(y[i + l], l, left);
            below += x < value ? 1 : 0;
            above += x > value ? 1 : 0;
        }
    }
    at->below = (size_t)below;
    at->above = (size_t)above;
}

SHOT_INLINE double next_below(const double *y, size_t n, double value) {
    double best = -INFINITY;
    for (size_t i = 0; i < n; i += LANES) {
        const double left = (double)(n - i);
#pragma omp simd reduction(max : best)
        for (int l = 0; l < LANES; l++) {
            const double x = inside(y[i + l], l, left);
            best = greater(x < value ? x : -INFINITY, best);
        }
    }
    return best;
}

SHOT_INLINE double next_above(const double *y, size_t n, double value) {
    double best = INFINITY;
    for (size_t i = 0; i < n; i += LANES) {
        const double left = (double)(n - i);
#pragma omp simd reduction(min : best)
        for (int l = 0; l < LANES; l++) {
            const double x = inside(y[i + l], l, left);
            best = lesser(x > value ? x : INFINITY, best);
        }
    }
    return best;
}

/* Move to the value of rank n / 2, from one value of the window to its neighbour; false where there
 * is none, among values that do not compare. */
SHOT_INLINE bool find_upper(const double *y, size_t n, middle *at) {
    while (at->below > n / 2 || n - at->above <= n / 2) {
        at->value = at->below > n / 2 ? next_below(y, n, at->value) : next_above(y, n, at->value);
        if (!isfinite(at->value))
            return false;
        count_sides(y, n, at);
    }
    return true;
}

SHOT_INLINE double median_at(const double *y, size_t n, const middle *at) {
    if (n % 2 == 1 || at->below < n / 2)
        return at->value;
    return window_median_middle(next_below(y, n, at->value), at->value);
}

SHOT_INLINE void step_from(const window_batch *batch, size_t row, middle *at) {
    for (size_t i = batch->low[row - 1]; i < batch->low[row]; i++) {
        at->below -= batch->y[i] < at->value;
        at->above -= batch->y[i] > at->value;
    }
    for (size_t i = batch->high[row - 1]; i < batch->high[row]; i++) {
        at->below += batch->y[i] < at->value;
        at->above += batch->y[i] > at->value;
    }
}

SHOT_INLINE double count_nearer(const double *y, size_t n, double median, double distance) {
    double count = 0;
    for (size_t i = 0; i < n; i += LANES) {
        const double left = (double)(n - i);
#pragma omp simd reduction(+ : count)
        for (int l = 0; l < LANES; l++) {
            const double x = inside(y[i + l], l, left);
            count += fabs(x - median) < distance ? 1 : 0;
        }
    }
    return count;
}

/* The median absolute deviation is at least that of rank (n - 1) / 2, and that, where no more lie
 * nearer to the median, at least `least`: the sample's own distance in units of the threshold, and
 * a little more than all rounding. */
SHOT_INLINE bool is_surely_none(const shot_hampel *hampel, const double *y, size_t n, double value,
                                double median) {
    const double least = fabs(value - median) / (hampel->threshold * SHOT_MAD_TO_SD) * (1 + 1e-12);
    return least == 0 || count_nearer(y, n, median, least) <= (double)((n - 1) / 2);
}

SHOT_INLINE bool row_is_none(const shot_hampel *hampel, const window_batch *batch, size_t row,
                             middle *at) {
    const double *y = batch->y + batch->low[row];
    const size_t n = batch->high[row] - batch->low[row];
    if (n > WIDEST)
        return false;
    if (row > 0)
        step_from(batch, row, at);
    else
        count_sides(y, n, at);
    return find_upper(y, n, at) &&
           is_surely_none(hampel, y, n, batch->y[batch->own + row], median_at(y, n, at));
}

/* How many rows from the first on are surely none. */
SHOT_WIDE static size_t rows_of_none(const shot_hampel *hampel, const window_batch *batch,
                                     middle *at) {
    size_t rows = 0;
    while (rows < batch->rows && row_is_none(hampel, batch, rows, at))
        rows++;
    return rows;
}

/* The same for samples copied to where more may be read behind them. */
static size_t look_through(const shot_hampel *hampel, window_batch *batch, middle *at) {
    enum { ROOM = WINDOW_BATCH + WIDEST };
    double samples[ROOM + LANES] = {0};
    const size_t first = batch->low[0];
    while (batch->rows > 0 && batch->high[batch->rows - 1] - first > ROOM)
        batch->rows--;
    if (batch->rows == 0)
        return 0;
    memcpy(samples, batch->y + first, (batch->high[batch->rows - 1] - first) * sizeof *samples);
    batch->y = samples - first;
    return rows_of_none(hampel, batch, at);
}

void shot_hampel_pass(shot_hampel *hampel, shot_hampel_passed *passed) {
    window_batch batch;
    *passed = (shot_hampel_passed){0, NAN, NAN};
    if (window_batch_find(hampel->window, WINDOW_BATCH, &batch) < FEWEST)
        return;
    middle at = {.value = hampel->middle};
    const double *y = batch.y;
    const size_t rows = look_through(hampel, &batch, &at), last = batch.own + rows - 1;
    hampel->middle = isfinite(at.value) ? at.value : 0;
    if (rows == 0)
        return;
    *passed = (shot_hampel_passed){rows, batch.t[last], y[last]};
    window_batch_pass(hampel->window, &batch, rows);
}
