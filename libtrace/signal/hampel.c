/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Hampel identifier over the median of a window that slides. */
#include <shottrace/signal/hampel.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/median.h>

#include "wide.h"
#include "window_batch.h"
#include "window_lanes.h"
#include "window_median.h"

/* What was found out about a sample. */
typedef struct known_median {
    double median, mad; /* mad NaN: not worked out, but no spike */
} known_median;

struct shot_hampel {
    shot_sliding_window *window;
    window_median order;
    double threshold, floor;
    /* Of samples that were looked at together: number `from` and those after it. */
    window_batch batch;
    known_median known[WINDOW_BATCH]; /* [rows] */
    bool spike[WINDOW_BATCH];         /* [rows] */
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
    if (!isnan(view.value) && row < hampel->rows && !isnan(hampel->known[row].mad)) {
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

/* Judge a row whose median is known too. */
static void judge(shot_hampel *hampel, size_t row, known_median known) {
    const double value = hampel->batch.y[hampel->batch.own + row];
    const double scale = fmax(SHOT_MAD_TO_SD * known.mad, hampel->floor);
    hampel->spike[row] = fabs(value - known.median) > hampel->threshold * scale;
    hampel->known[row] = known;
}

/* What the deviation of rank (n - 1) / 2 must reach, so that no sample at its distance from the
 * median is a spike: the distance in units of the threshold, and a little more than all rounding.
 * The median absolute deviation is at least the deviation of that rank. */
SHOT_WIDE static void least_deviations(const double *restrict value, const double *restrict median,
                                       double threshold, size_t n, double *restrict least) {
    for (size_t i = 0; i < n; i++)
        least[i] = fabs(value[i] - median[i]) / (threshold * SHOT_MAD_TO_SD) * (1 + 1e-12);
}

static double deviation_of(const shot_window_view *view, double median) {
    double deviation[WINDOW_LANES_LONGEST];
    for (size_t k = 0; k < view->n; k++)
        deviation[k] = fabs(view->y[k] - median);
    return shot_median(deviation, view->n);
}

/* Rows with short windows, from one on; how many. */
static size_t judge_short(shot_hampel *hampel, window_row row) {
    const window_batch *batch = &hampel->batch;
    window_lanes lanes;
    double least[WINDOW_LANES], nearer[WINDOW_LANES];
    window_lanes_take(&lanes, batch, &row);
    least_deviations(batch->y + batch->own + row.row, lanes.median, hampel->threshold, lanes.count,
                     least);
    window_lanes_count(&lanes, least, nearer);
    const size_t first = row.row;
    for (size_t l = 0; l < lanes.count; l++) {
        hampel->known[first + l] = (known_median){lanes.median[l], NAN};
        hampel->spike[first + l] = false;
        if (least[l] == 0 || !(2 * nearer[l] > lanes.samples[l] - 1))
            continue;
        window_row_move(&row, first + l - row.row);
        const shot_window_view view = window_batch_view(batch, &row);
        judge(hampel, row.row,
              (known_median){lanes.median[l], deviation_of(&view, lanes.median[l])});
    }
    return lanes.count;
}

/* A row by itself. */
static shot_status judge_one(shot_hampel *hampel, const window_row *row) {
    const shot_window_view view = window_batch_view(&hampel->batch, row);
    SHOT_TRY(window_median_follow(&hampel->order, &view));
    const double median = window_median_value(&hampel->order, view.n);
    judge(hampel, row->row,
          (known_median){median, window_median_mad(&hampel->order, median, view.n)});
    return SHOT_OK;
}

/* Judge the rows whose windows are known.  Few are judged one by one: the lanes must fill before
 * they pay. */
static shot_status look_ahead(shot_hampel *hampel) {
    enum { FEW = 8 };
    const window_batch *batch = &hampel->batch;
    window_batch_find(hampel->window, WINDOW_BATCH, &hampel->batch);
    for (window_row row = window_batch_begin(batch); row.row < batch->rows;) {
        size_t judged = 1;
        if (batch->rows >= FEW && window_row_samples(&row) <= WINDOW_LANES_LONGEST)
            judged = judge_short(hampel, row);
        else
            SHOT_TRY(judge_one(hampel, &row));
        window_row_move(&row, judged);
    }
    hampel->from = window_batch_number(hampel->window);
    hampel->rows = batch->rows;
    return SHOT_OK;
}

shot_status shot_hampel_pass(shot_hampel *hampel, size_t most, shot_hampel_passed *passed) {
    size_t row = window_batch_number(hampel->window) - hampel->from;
    *passed = (shot_hampel_passed){0, NAN, NAN};
    if (row >= hampel->rows) {
        SHOT_TRY(look_ahead(hampel));
        row = 0;
    }
    const size_t left = hampel->rows - row, looked_at = most < left ? most : left;
    const bool *spike = memchr(hampel->spike + row, true, looked_at);
    const size_t count = spike != NULL ? (size_t)(spike - hampel->spike) - row : looked_at;
    if (count == 0)
        return SHOT_OK;
    passed->count = count;
    window_batch_row(hampel->window, count - 1, &passed->t, &passed->value);
    window_batch_pass(hampel->window, &hampel->batch, row + count);
    return SHOT_OK;
}
