/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Many rows of a running fit at once. */
#include <math.h>
#include <stdint.h>

#include "even_stretch.h"
#include "moments_fours.h"
#include "running_fit_parts.h"
#include "wide.h"
#include "window_batch.h"

/* Results of rows in turn. */
typedef struct fit_results {
    double *fitted, *gain; /* gain: NULL where nobody asks */
} fit_results;

static void put(const fit_results *to, size_t i, const shot_local_fit_value *value) {
    to->fitted[i] = value->value;
    if (to->gain != NULL)
        to->gain[i] = value->gain;
}

/* From result number i on. */
static fit_results behind(const fit_results *results, size_t i) {
    return (fit_results){results->fitted + i, results->gain == NULL ? NULL : results->gain + i};
}

/* ---- evenly spaced ---- */

/* How many of the values are that of the one before them; y[-1] is there. */
SHOT_WIDE static size_t count_stays(const double *y, size_t n) {
    int64_t stays = 0; /* as wide as what is compared */
#pragma omp simd reduction(+ : stays)
    for (size_t i = 0; i < n; i++)
        stays += y[i] == y[(ptrdiff_t)i - 1] ? 1 : 0;
    return (size_t)stays;
}

/* Of the samples that the windows behind the first one bring, the last that brings another value.
 */
static void look_at_last(shot_running_fit *fit, const shot_window_view *view, size_t rows) {
    for (size_t newest = rows + view->n - 2; newest >= view->n - 1; newest--)
        if (view->y[newest] != view->y[newest - 1]) {
            fit->moved = view->first + newest;
            return;
        }
}

/* A window in which all values are the same has that value.  Where fewer stay than that takes,
 * there is none. */
static void flatten(shot_running_fit *fit, const shot_window_view *view, size_t rows,
                    double *fitted) {
    const double *y = view->y;
    if (count_stays(y + 1, rows + view->n - 2) < view->n - 1) {
        look_at_last(fit, view, rows);
        return;
    }
    for (size_t i = 0; i < rows; i++) {
        const size_t newest = i + view->n - 1;
        if (y[newest] != y[newest - 1])
            fit->moved = view->first + newest;
        if (fit->moved <= view->first + i && !isnan(fitted[i]))
            fitted[i] = fit->rule.derivative == 0 ? y[i] : 0;
    }
}

/* Bring results for spacing 1 to that of each window. */
SHOT_WIDE static void scale_rows(const double *restrict unit, size_t rows,
                                 double *restrict fitted) {
    for (size_t i = 0; i < rows; i++)
        fitted[i] = unit[i] * fitted[i];
}

SHOT_WIDE static void scale_gain(const double *restrict unit, double gain_of_one, size_t rows,
                                 double *restrict gain) {
    for (size_t i = 0; i < rows; i++)
        gain[i] = unit[i] * unit[i] * gain_of_one;
}

SHOT_WIDE static void fill(double value, size_t n, double *out) {
    for (size_t i = 0; i < n; i++)
        out[i] = value;
}

/* A value itself is that of any spacing. */
static void scale_to_spacing(const shot_running_fit *fit, const shot_window_view *view,
                             double gain_of_one, size_t rows, const fit_results *to) {
    double unit[WINDOW_BATCH];
    if (fit->rule.derivative > 0) {
        even_stretch_units(view->t, view->n, rows, fit->rule.derivative, unit);
        scale_rows(unit, rows, to->fitted);
        if (to->gain != NULL)
            scale_gain(unit, gain_of_one, rows, to->gain);
    } else if (to->gain != NULL) {
        fill(gain_of_one, rows, to->gain);
    }
}

/* Like windows, the first one as given, all evenly spaced. */
static shot_status fit_even_rows(shot_running_fit *fit, const shot_window_view *view, size_t rows,
                                 const fit_results *to) {
    const even_shape shape = {.n = view->n, .own = view->own};
    const even_weights *even;
    SHOT_TRY(running_fit_weights(fit, &shape, &even));
    even_stretch_filter(even->weight, view->n, view->y, rows, to->fitted);
    scale_to_spacing(fit, view, even->gain, rows, to);
    flatten(fit, view, rows, to->fitted);
    fit->seen = view->first + view->n + rows - 1;
    return SHOT_OK;
}

/* Rows of a stretch whose windows are evenly spaced, of which so many are left; none in *count
 * where the first one's is not. */
static shot_status fit_even_ones(shot_running_fit *fit, const shot_window_view *view, size_t left,
                                 const fit_results *to, size_t *count) {
    const bool uneven = fit->uneven > view->first + 1; /* as a look at the window would find */
    const bool as_one = !fit->rule.tapered && view->n >= 2 && view->n > fit->rule.order && !uneven;
    *count = as_one ? even_stretch_rows(view->t, view->n, left) : 0;
    if (*count == 0)
        return SHOT_OK;
    running_fit_look(fit, view);
    return fit_even_rows(fit, view, *count, to);
}

/* ---- others ---- */

/* Rows whose polynomials are found side by side. */
enum { SIDE_BY_SIDE = 4 };

typedef struct uneven_rows {
    window_moments window[SIDE_BY_SIDE];
    moments_value found[SIDE_BY_SIDE];
    shot_window_view view[SIDE_BY_SIDE];
    bool flat[SIDE_BY_SIDE];
    size_t count;
} uneven_rows;

/* Whether the window of a row, which is looked at, goes by sums. */
static bool has_sums(shot_running_fit *fit, const shot_window_view *view) {
    even_shape shape;
    running_fit_look(fit, view);
    return view->centred && view->n > fit->rule.order && !running_fit_shape(fit, view, &shape);
}

/* The rows from one on, which goes by sums, up to number `end` or one that does not. */
static shot_status gather_uneven(shot_running_fit *fit, const window_batch *batch, window_row row,
                                 size_t end, uneven_rows *out) {
    out->count = 0;
    for (; out->count < SIDE_BY_SIDE && row.row < end; window_row_move(&row, 1)) {
        const shot_window_view view = window_batch_view(batch, &row);
        if (out->count > 0 && !has_sums(fit, &view))
            return SHOT_OK;
        SHOT_TRY(sliding_moments_follow(&fit->sums, &view));
        sliding_moments_put(&fit->sums, &view, &out->window[out->count]);
        out->flat[out->count] = running_fit_is_flat(fit, &view);
        out->view[out->count++] = view;
    }
    return SHOT_OK;
}

static void solve_uneven(const shot_running_fit *fit, uneven_rows *rows) {
    const size_t order = fit->rule.order, derivative = fit->rule.derivative;
    for (size_t i = rows->count; i > 1 && i < SIDE_BY_SIDE; i++)
        rows->window[i] = rows->window[0];
    if (rows->count > 1 && moments_fours_solve(rows->window, order, derivative, rows->found))
        return;
    for (size_t i = 0; i < rows->count; i++)
        sliding_moments_solve(&rows->window[i], order, derivative, &rows->found[i]);
}

/* Rows that go by sums, as the first one does. */
static shot_status fit_uneven_ones(shot_running_fit *fit, const window_batch *batch, window_row row,
                                   size_t end, const fit_results *to, size_t *count) {
    uneven_rows rows;
    SHOT_TRY(gather_uneven(fit, batch, row, end, &rows));
    solve_uneven(fit, &rows);
    for (*count = 0; *count < rows.count; (*count)++) {
        const shot_window_view *view = &rows.view[*count];
        shot_local_fit_value value;
        SHOT_TRY(running_fit_take_found(fit, view, &rows.found[*count], &value));
        if (rows.flat[*count])
            running_fit_settle_flat(fit, view, &value);
        put(to, *count, &value);
    }
    return SHOT_OK;
}

/* A window on a grid. */
static shot_status fit_shape(shot_running_fit *fit, const shot_window_view *view,
                             const even_shape *shape, const fit_results *to) {
    shot_local_fit_value value;
    SHOT_TRY(running_fit_even(fit, view, shape, &value));
    if (running_fit_is_flat(fit, view))
        running_fit_settle_flat(fit, view, &value);
    put(to, 0, &value);
    return SHOT_OK;
}

/* Rows of a stretch whose windows have one hole, the same in all; none in *count where the first
 * one has not. */
static shot_status fit_hole_ones(shot_running_fit *fit, shot_window_view view, size_t left,
                                 const fit_results *to, size_t *count) {
    even_shape shape = {.n = view.n, .own = view.own};
    *count = fit->rule.tapered || view.n <= fit->rule.order || view.n > EVEN_LONGEST
                 ? 0
                 : even_stretch_hole_rows(view.t, view.n, left, &shape.behind, &shape.missing);
    for (size_t i = 0; i < *count; i++, shape.behind--, view.t++, view.y++, view.first++) {
        const fit_results here = behind(to, i);
        running_fit_look(fit, &view);
        SHOT_TRY(fit_shape(fit, &view, &shape, &here));
    }
    return SHOT_OK;
}

/* Rows near an end that have their window in common, which is even; none in *count where it is not.
 */
static shot_status fit_end_ones(shot_running_fit *fit, const shot_window_view *view, size_t left,
                                const fit_results *to, size_t *count) {
    even_shape shape;
    running_fit_look(fit, view);
    *count = view->n > fit->rule.order && running_fit_end_shape(fit, view, &shape) ? left : 0;
    for (size_t i = 0; i < *count; i++, shape.own++) {
        const fit_results here = behind(to, i);
        SHOT_TRY(fit_shape(fit, view, &shape, &here));
    }
    return SHOT_OK;
}

/* A window that takes a fit of its own. */
static shot_status fit_one(shot_running_fit *fit, const shot_window_view *view,
                           const fit_results *to) {
    shot_local_fit_value value;
    SHOT_TRY(running_fit_row(fit, view, &value));
    put(to, 0, &value);
    return SHOT_OK;
}

/* ---- batches ---- */

/* Some of the rows of a batch from one on, up to number `end`; how many in *count. */
static shot_status fit_rows(shot_running_fit *fit, const window_batch *batch, window_row row,
                            size_t end, const fit_results *to, size_t *count) {
    const shot_window_view view = window_batch_view(batch, &row);
    const size_t left = row.stretch->rows - row.at;
    *count = 0;
    if (!view.centred)
        SHOT_TRY(fit_end_ones(fit, &view, left, to, count));
    else
        SHOT_TRY(fit_even_ones(fit, &view, left, to, count));
    if (view.centred && *count == 0)
        SHOT_TRY(fit_hole_ones(fit, view, left, to, count));
    if (*count > 0)
        return SHOT_OK;
    running_fit_look(fit, &view);
    if (view.centred && view.n > fit->rule.order && running_fit_goes_by_sums(fit))
        return fit_uneven_ones(fit, batch, row, end, to, count);
    *count = 1;
    return fit_one(fit, &view, to);
}

/* The results of a batch of windows, at most `room`; how many in *count. */
static shot_status take_batch(shot_running_fit *fit, size_t room, const fit_results *to,
                              size_t *count) {
    window_batch batch;
    *count = window_batch_find(fit->window, room, &batch);
    for (window_row row = window_batch_begin(&batch); row.row < *count;) {
        const fit_results next = behind(to, row.row);
        size_t more;
        SHOT_TRY(fit_rows(fit, &batch, row, *count, &next, &more));
        window_row_move(&row, more);
    }
    window_batch_pass(fit->window, &batch, *count);
    return SHOT_OK;
}

/* Rows whose gains take the weights of their own window are no batch. */
shot_status shot_running_fit_take(shot_running_fit *fit, size_t room, double *fitted, double *gain,
                                  size_t *count) {
    const fit_results to = {fitted, gain};
    bool ready = true;
    for (*count = 0; *count < room && ready;) {
        fit_results next = behind(&to, *count);
        size_t more = 0;
        if (!(fit->noise.correlation > 0))
            SHOT_TRY(take_batch(fit, room - *count, &next, &more));
        *count += more;
        if (*count == room)
            break;
        shot_running_fit_at at; /* behind a batch mostly a row without a value, or none yet */
        SHOT_TRY(shot_running_fit_next(fit, &at, &ready));
        if (ready)
            put(&to, (*count)++, &(shot_local_fit_value){at.fitted, at.gain});
    }
    return SHOT_OK;
}
