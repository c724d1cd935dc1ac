/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Hampel identifier over the median of a window that slides. */
#include <shottrace/signal/hampel.h>

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/median.h>

#include "window_batch.h"
#include "window_lanes.h"
#include "window_median.h"

/* What was found out about a sample. */
typedef struct known_median {
    double median, mad; /* mad NaN: not worked out, but no spike */
    bool spike;
} known_median;

struct shot_hampel {
    shot_sliding_window *window;
    window_median order;
    double threshold, floor;
    /* Of samples that were looked at together: number `from` and those after it. */
    window_batch batch;
    known_median known[WINDOW_BATCH]; /* [rows] */
    size_t from, rows;
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
    hampel->from = hampel->rows = 0;
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
    const size_t row = view.first + view.own - hampel->from;
    const bool known = !isnan(view.value) && row < hampel->rows && !isnan(hampel->known[row].mad);
    if (known) {
        median = hampel->known[row].median;
        mad = hampel->known[row].mad;
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

static bool is_spike(const shot_hampel *hampel, double value, known_median known) {
    const double scale = fmax(SHOT_MAD_TO_SD * known.mad, hampel->floor);
    return fabs(value - known.median) > hampel->threshold * scale;
}

/* What the deviation of rank (n - 1) / 2 must reach, so that no sample at that distance from the
 * median is a spike: the distance in units of the threshold, and a little more than all rounding.
 * The median absolute deviation is at least the deviation of that rank. */
static double least_deviation(const shot_hampel *hampel, double value, double median) {
    return fabs(value - median) / (hampel->threshold * SHOT_MAD_TO_SD) * (1 + 1e-12);
}

/* The row that each lane comes to after `step` rows; a lane without so many stays on its last. */
static void rows_of_lanes(size_t rows, size_t step, size_t *row) {
    const size_t each = (rows + WINDOW_LANES - 1) / WINDOW_LANES;
    for (size_t l = 0; l < WINDOW_LANES; l++) {
        const size_t last = (l + 1) * each < rows ? (l + 1) * each : rows;
        row[l] = l * each + step < last ? l * each + step : last - 1;
    }
}

static void judge_lanes(shot_hampel *hampel, const window_lanes *lanes, const size_t *row) {
    const double *value = hampel->batch.y + hampel->batch.own;
    double least[WINDOW_LANES], nearer[WINDOW_LANES];
    for (size_t l = 0; l < WINDOW_LANES; l++)
        least[l] = least_deviation(hampel, value[row[l]], lanes->median[l]);
    window_lanes_count(lanes, least, nearer);
    for (size_t l = 0; l < WINDOW_LANES; l++) {
        const size_t n = lanes->high[l] - lanes->low[l];
        known_median *known = &hampel->known[row[l]];
        *known = (known_median){lanes->median[l], NAN, false};
        if (least[l] == 0 || !(nearer[l] > (double)((n - 1) / 2)))
            continue;
        known->mad = window_lanes_mad(lanes, l);
        known->spike = is_spike(hampel, value[row[l]], *known);
    }
}

/* Rows with short windows: each lane takes a stretch of them. */
static void judge_short(shot_hampel *hampel, size_t rows) {
    const window_batch *batch = &hampel->batch;
    window_lanes lanes;
    size_t row[WINDOW_LANES], longest = 0;
    for (size_t i = 0; i < rows; i++)
        longest =
            batch->high[i] - batch->low[i] > longest ? batch->high[i] - batch->low[i] : longest;
    window_lanes_start(&lanes, longest);
    for (size_t step = 0; step * WINDOW_LANES < rows; step++) {
        rows_of_lanes(rows, step, row);
        window_lanes_follow(&lanes, batch, row);
        judge_lanes(hampel, &lanes, row);
    }
}

/* A row with a long window. */
static shot_status judge_one(shot_hampel *hampel, size_t row) {
    const shot_window_view view = window_batch_view(&hampel->batch, row);
    SHOT_TRY(window_median_follow(&hampel->order, &view));
    known_median *known = &hampel->known[row];
    known->median = window_median_value(&hampel->order, view.n);
    known->mad = window_median_mad(&hampel->order, known->median, view.n);
    known->spike = is_spike(hampel, view.value, *known);
    return SHOT_OK;
}

static bool is_short(const window_batch *batch, size_t row) {
    return batch->high[row] - batch->low[row] <= WINDOW_LANES_LONGEST;
}

/* Judge the rows whose windows are known, either all short or all long.  Few are judged as long
 * ones are: the lanes must fill before they pay. */
static shot_status look_ahead(shot_hampel *hampel) {
    enum { FEW = 2 * WINDOW_LANES };
    const window_batch *batch = &hampel->batch;
    size_t rows = 0;
    window_batch_find(hampel->window, WINDOW_BATCH, &hampel->batch);
    while (rows < batch->rows && is_short(batch, rows) == is_short(batch, 0))
        rows++;
    if (rows > FEW && is_short(batch, 0))
        judge_short(hampel, rows);
    else
        for (size_t row = 0; row < rows; row++)
            SHOT_TRY(judge_one(hampel, row));
    hampel->from = window_batch_number(hampel->window);
    hampel->rows = rows;
    return SHOT_OK;
}

shot_status shot_hampel_pass(shot_hampel *hampel, shot_hampel_passed *passed) {
    size_t row = window_batch_number(hampel->window) - hampel->from, count = 0;
    *passed = (shot_hampel_passed){0, NAN, NAN};
    if (row >= hampel->rows) {
        SHOT_TRY(look_ahead(hampel));
        row = 0;
    }
    while (row + count < hampel->rows && !hampel->known[row + count].spike)
        count++;
    if (count == 0)
        return SHOT_OK;
    passed->count = count;
    window_batch_row(hampel->window, count - 1, &passed->t, &passed->value);
    window_batch_pass(hampel->window, &hampel->batch, row + count);
    return SHOT_OK;
}
