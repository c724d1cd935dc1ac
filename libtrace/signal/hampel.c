/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Hampel identifier over the median of a window that slides. */
#include <shottrace/signal/hampel.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/median.h>

#include "window_batch.h"
#include "window_fours.h"
#include "window_lanes.h"
#include "window_median.h"

/* What was found out about a sample. */
typedef struct known_median {
    double median, mad;
} known_median;

struct shot_hampel {
    shot_sliding_window *window;
    window_median order;
    double threshold, floor;
    /* Of samples that were looked at together: number `from` and those after it. */
    window_batch batch;
    known_median known[WINDOW_BATCH]; /* [rows] */
    bool found[WINDOW_BATCH];         /* [rows]: `known` is; else it is no spike */
    bool spike[WINDOW_BATCH];         /* [rows] */
    size_t from, rows;
    bool idle; /* all that is known was looked at, and nothing has come since */
};

/* Of zeros of both signs, which one is in the middle depends on the way in which it is found. */
static double without_sign_of_zero(double median) {
    return median + 0.0;
}

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
    hampel->idle = false;
}

shot_status shot_hampel_push(shot_hampel *hampel, double t, double y) {
    hampel->idle = false;
    return shot_sliding_window_push(hampel->window, t, y);
}

shot_status shot_hampel_push_block(shot_hampel *hampel, const double *t, const double *y,
                                   size_t n) {
    hampel->idle = false;
    return shot_sliding_window_push_block(hampel->window, t, y, n);
}

void shot_hampel_finish(shot_hampel *hampel) {
    hampel->idle = false;
    shot_sliding_window_finish(hampel->window);
}

shot_status shot_hampel_next(shot_hampel *hampel, shot_hampel_at *at, bool *ready) {
    shot_window_view view;
    *ready = shot_sliding_window_next(hampel->window, &view);
    if (!*ready)
        return SHOT_OK;
    hampel->idle = false;
    double median = NAN, mad = NAN;
    const size_t row = view.first + view.own - hampel->from;
    if (!isnan(view.value) && row < hampel->rows && hampel->found[row]) {
        median = hampel->known[row].median;
        mad = hampel->known[row].mad;
    } else if (view.n > 0) {
        SHOT_TRY(window_median_follow(&hampel->order, &view));
        median = without_sign_of_zero(window_median_value(&hampel->order, view.n));
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
    hampel->found[row] = !isnan(known.mad);
}

/* Rows that are to be judged together, with windows of n samples each. */
typedef struct judged_rows {
    size_t count, n, row[WINDOW_FOURS];
    const double *y[WINDOW_FOURS]; /* [n] */
    double median[WINDOW_FOURS];
} judged_rows;

static double deviation_of(const double *y, size_t n, double median) {
    double deviation[WINDOW_LANES_LONGEST];
    for (size_t k = 0; k < n; k++)
        deviation[k] = fabs(y[k] - median);
    return shot_median(deviation, n);
}

static void judge_together(shot_hampel *hampel, judged_rows *rows) {
    double mad[WINDOW_FOURS];
    for (size_t i = rows->count; i < WINDOW_FOURS; i++) {
        rows->y[i] = rows->y[0];
        rows->median[i] = rows->median[0];
    }
    if (!window_fours_deviate(rows->y, rows->median, rows->n, mad))
        for (size_t i = 0; i < rows->count; i++)
            mad[i] = deviation_of(rows->y[i], rows->n, rows->median[i]);
    for (size_t i = 0; i < rows->count; i++)
        judge(hampel, rows->row[i], (known_median){without_sign_of_zero(rows->median[i]), mad[i]});
    rows->count = 0;
}

/* One more of them. */
static void add_judged(shot_hampel *hampel, const shot_window_view *view, size_t row, double median,
                       judged_rows *rows) {
    if (rows->count == WINDOW_FOURS || (rows->count > 0 && rows->n != view->n))
        judge_together(hampel, rows);
    rows->n = view->n;
    rows->row[rows->count] = row;
    rows->y[rows->count] = view->y;
    rows->median[rows->count++] = median;
}

/* What was found of some rows with short windows, from one on. */
typedef struct window_verdicts {
    double median[WINDOW_BATCH];
    bool crowded[WINDOW_BATCH];
} window_verdicts;

/* The median absolute deviation is at least the deviation of rank (n - 1) / 2: where that reaches
 * the distance of the sample in units of the threshold, and a little more than all rounding, the
 * sample is no spike, and no more needs to be worked out.  A sample on the median, whose distance
 * is 0, is none either. */
static void judge_crowded(shot_hampel *hampel, window_row row, size_t rows,
                          const window_verdicts *found) {
    const bool *end = found->crowded + rows, *next = found->crowded;
    judged_rows together = {.count = 0};
    while (next < end && (next = memchr(next, true, (size_t)(end - next))) != NULL) {
        const size_t i = (size_t)(next++ - found->crowded);
        window_row here = row;
        window_row_move(&here, i);
        const shot_window_view around = window_batch_view(&hampel->batch, &here);
        add_judged(hampel, &around, here.row, found->median[i], &together);
    }
    if (together.count > 0)
        judge_together(hampel, &together);
}

static bool is_short(const window_row *row) {
    const size_t n = window_row_samples(row);
    return n >= WINDOW_LANES_LEAST && n <= WINDOW_LANES_LONGEST;
}

/* Rows of a stretch of short windows. */
static void judge_stretch(shot_hampel *hampel, window_row row, size_t rows) {
    const shot_window_view view = window_batch_view(&hampel->batch, &row);
    window_verdicts found;
    window_lanes_look(view.y, view.n, hampel->batch.y + hampel->batch.own + row.row, rows,
                      hampel->threshold * SHOT_MAD_TO_SD, found.median, found.crowded);
    judge_crowded(hampel, row, rows, &found);
}

/* Rows with short windows, each of its own; too few for the lanes to pay are left: 0. */
static size_t judge_some(shot_hampel *hampel, window_row row) {
    enum { FEW = 4 };
    const window_batch *batch = &hampel->batch;
    window_of_lane windows[WINDOW_LANES];
    window_row next = row;
    size_t rows = 0;
    while (rows < WINDOW_LANES && next.row < batch->rows && is_short(&next) &&
           next.stretch->rows < WINDOW_LANES) {
        const shot_window_view view = window_batch_view(batch, &next);
        windows[rows++] = (window_of_lane){view.y, view.n};
        window_row_move(&next, 1);
    }
    if (rows < FEW)
        return 0;
    window_verdicts found;
    window_lanes_look_at(windows, batch->y + batch->own + row.row, rows,
                         hampel->threshold * SHOT_MAD_TO_SD, found.median, found.crowded);
    judge_crowded(hampel, row, rows, &found);
    return rows;
}

/* A row by itself. */
static shot_status judge_one(shot_hampel *hampel, const window_row *row) {
    const shot_window_view view = window_batch_view(&hampel->batch, row);
    SHOT_TRY(window_median_follow(&hampel->order, &view));
    const double median = without_sign_of_zero(window_median_value(&hampel->order, view.n));
    judge(hampel, row->row,
          (known_median){median, window_median_mad(&hampel->order, median, view.n)});
    return SHOT_OK;
}

/* Judge the rows whose windows are known. */
static shot_status look_ahead(shot_hampel *hampel) {
    const window_batch *batch = &hampel->batch;
    window_batch_find(hampel->window, WINDOW_BATCH, &hampel->batch);
    memset(hampel->found, 0, batch->rows * sizeof *hampel->found);
    memset(hampel->spike, 0, batch->rows * sizeof *hampel->spike);
    for (window_row row = window_batch_begin(batch); row.row < batch->rows;) {
        size_t judged = 0;
        if (is_short(&row) && row.at == 0 && row.stretch->rows >= WINDOW_LANES)
            judge_stretch(hampel, row, judged = row.stretch->rows);
        else if (is_short(&row))
            judged = judge_some(hampel, row);
        if (judged == 0) {
            SHOT_TRY(judge_one(hampel, &row));
            judged = 1;
        }
        window_row_move(&row, judged);
    }
    hampel->from = window_batch_number(hampel->window);
    hampel->rows = batch->rows;
    hampel->idle = batch->rows == 0;
    return SHOT_OK;
}

shot_status shot_hampel_pass(shot_hampel *hampel, size_t most, shot_hampel_passed *passed) {
    size_t row = window_batch_number(hampel->window) - hampel->from;
    *passed = (shot_hampel_passed){0, NAN, NAN};
    if (hampel->idle)
        return SHOT_OK;
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
    hampel->idle = row + count == hampel->rows && hampel->rows < WINDOW_BATCH;
    return SHOT_OK;
}
