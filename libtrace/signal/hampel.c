/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Hampel identifier over the median of a window that slides. */
#include <shottrace/signal/hampel.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include <shottrace/signal/median.h>

#include "window_batch.h"
#include "window_lanes.h"
#include "window_median.h"

/* What was found out about a sample. */
typedef struct known_median {
    size_t number; /* of the sample in the stream; SIZE_MAX: none */
    double median, mad;
} known_median;

struct shot_hampel {
    shot_sliding_window *window;
    window_median order;
    sorting_network network; /* for short windows */
    double threshold, floor;
    known_median known; /* of a sample that shot_hampel_next will hand out */
    size_t most;        /* windows to look at in one go */
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
    shot_hampel_reset(hampel);
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
    hampel->known.number = SIZE_MAX;
    hampel->most = WINDOW_BATCH;
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
    if (!isnan(view.value) && hampel->known.number == view.first + view.own) {
        median = hampel->known.median;
        mad = hampel->known.mad;
    } else if (view.n > 0) {
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

/* ---- many at once ---- */

/* Whether a sample is a spike, worked out; the figures are kept for shot_hampel_next. */
static bool is_spike(shot_hampel *hampel, size_t number, double value, double median, double mad) {
    const double scale = fmax(SHOT_MAD_TO_SD * mad, hampel->floor);
    const bool spike = fabs(value - median) > hampel->threshold * scale;
    if (spike)
        hampel->known = (known_median){number, median, mad};
    return spike;
}

/* What the deviation of rank (n - 1) / 2 must reach, so that no sample at that distance from the
 * median is a spike: the distance in units of the threshold, and a little more than all rounding.
 * The median absolute deviation is at least the deviation of that rank. */
static double least_deviation(const shot_hampel *hampel, double value, double median) {
    return fabs(value - median) / (hampel->threshold * SHOT_MAD_TO_SD) * (1 + 1e-12);
}

/* Of rows with short windows, at most WINDOW_LANES, how many from `first` on are no spikes. */
static size_t pass_short(shot_hampel *hampel, const window_batch *batch, size_t first,
                         size_t rows) {
    window_lanes lanes;
    double least[WINDOW_LANES] = {0}, nearer[WINDOW_LANES];
    const double *value = batch->y + batch->own + first;
    window_lanes_sort(batch, first, rows, &hampel->network, &lanes);
    for (size_t l = 0; l < rows; l++)
        least[l] = least_deviation(hampel, value[l], lanes.median[l]);
    window_lanes_count(&lanes, least, nearer);
    for (size_t l = 0; l < rows; l++)
        if (least[l] != 0 && nearer[l] > (double)((lanes.n[l] - 1) / 2) &&
            is_spike(hampel, batch->first + batch->own + first + l, value[l], lanes.median[l],
                     window_lanes_mad(&lanes, l)))
            return l;
    return rows;
}

static shot_status pass_long(shot_hampel *hampel, const window_batch *batch, size_t row,
                             bool *none) {
    const shot_window_view view = window_batch_view(batch, row);
    SHOT_TRY(window_median_follow(&hampel->order, &view));
    const double median = window_median_value(&hampel->order, view.n);
    *none = !is_spike(hampel, view.first + view.own, view.value, median,
                      window_median_mad(&hampel->order, median, view.n));
    return SHOT_OK;
}

/* How many rows from `first` on, at most WINDOW_LANES, have short windows. */
static size_t short_rows(const window_batch *batch, size_t first) {
    size_t rows = 0;
    while (rows < WINDOW_LANES && first + rows < batch->rows &&
           batch->high[first + rows] - batch->low[first + rows] <= WINDOW_LANES_LONGEST)
        rows++;
    return rows;
}

/* How many rows of a batch are no spikes. */
static shot_status pass_rows(shot_hampel *hampel, const window_batch *batch, size_t *rows) {
    for (*rows = 0; *rows < batch->rows;) {
        const size_t some = short_rows(batch, *rows);
        bool none = true;
        if (some == 0)
            SHOT_TRY(pass_long(hampel, batch, *rows, &none));
        const size_t passed = some > 0 ? pass_short(hampel, batch, *rows, some) : none;
        *rows += passed;
        if (passed < some || !none)
            break;
    }
    return SHOT_OK;
}

shot_status shot_hampel_pass(shot_hampel *hampel, shot_hampel_passed *passed) {
    window_batch batch;
    size_t rows;
    *passed = (shot_hampel_passed){0, NAN, NAN};
    if (hampel->known.number == window_batch_number(hampel->window)) /* a spike comes next */
        return SHOT_OK;
    window_batch_find(hampel->window, hampel->most, &batch);
    SHOT_TRY(pass_rows(hampel, &batch, &rows));
    /* Where spikes are near each other, few windows at once are looked at in vain. */
    hampel->most = rows < batch.rows ? 2 * rows + WINDOW_LANES : WINDOW_BATCH;
    if (rows == 0)
        return SHOT_OK;
    const size_t last = batch.own + rows - 1;
    *passed = (shot_hampel_passed){rows, batch.t[last], batch.y[last]};
    window_batch_pass(hampel->window, &batch, rows);
    return SHOT_OK;
}
