/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A polynomial fit that slides over a stream. */
#include <shottrace/signal/running_fit.h>

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/local_fit.h>

#include "dot.h"
#include "even_stretch.h"
#include "even_weights.h"
#include "signal/fit_noise.h"
#include "moments_fours.h"
#include "sliding_moments.h"
#include "wide.h"
#include "window_batch.h"

/* Rows that are fitted together. */
enum { EVEN_ROWS = WINDOW_BATCH };

struct shot_running_fit {
    shot_running_fit_rule rule;
    shot_sliding_window *window;
    shot_local_fit *fit, *first; /* first: of the window at the start, whose basis is kept */
    sliding_moments sums;
    even_shapes even;
    even_ends ends;
    size_t seen;         /* samples whose times were looked at */
    size_t uneven;       /* the last of these not half way between its neighbours, plus 1 */
    size_t moved;        /* the last of these whose value is not that of the one before it */
    size_t fitted;       /* the first sample of the window that `fit` holds, plus 1; 0: another */
    size_t first_fitted; /* the same for `first` */
    fit_noise noise;
};

/* ---- making ---- */

static bool is_rule(const shot_running_fit_rule *rule) {
    const shot_reach reach = rule->reach;
    return rule->derivative <= rule->order &&
           !(reach.samples && (double)rule->order > reach.before + reach.after);
}

static shot_status make_parts(shot_running_fit *fit) {
    SHOT_TRY(shot_sliding_window_new(fit->rule.reach, SHOT_ENDS_FULL,
                                     fit->rule.fill ? SHOT_MISSING_SERVED : SHOT_MISSING_SKIPPED,
                                     &fit->window));
    SHOT_TRY(shot_local_fit_new(fit->rule.order, &fit->fit));
    SHOT_TRY(shot_local_fit_new(fit->rule.order, &fit->first));
    fit->sums.order = fit->rule.order;
    return SHOT_OK;
}

shot_status shot_running_fit_new(const shot_running_fit_rule *rule, shot_running_fit **out) {
    *out = NULL;
    if (!is_rule(rule))
        return SHOT_ERR_RANGE;
    shot_running_fit *fit = calloc(1, sizeof *fit);
    if (fit == NULL)
        return SHOT_ERR_MEMORY;
    fit->rule = *rule;
    const shot_status status = make_parts(fit);
    if (status == SHOT_OK)
        *out = fit;
    else
        shot_running_fit_free(fit);
    return status;
}

void shot_running_fit_free(shot_running_fit *fit) {
    if (fit == NULL)
        return;
    shot_sliding_window_free(fit->window);
    shot_local_fit_free(fit->fit);
    shot_local_fit_free(fit->first);
    sliding_moments_free(&fit->sums);
    even_weights_free(&fit->even);
    even_ends_free(&fit->ends);
    fit_noise_free(&fit->noise);
    free(fit);
}

void shot_running_fit_reset(shot_running_fit *fit) {
    shot_sliding_window_reset(fit->window);
    sliding_moments_reset(&fit->sums);
    fit->seen = fit->uneven = fit->moved = fit->fitted = fit->first_fitted = 0;
}

void shot_running_fit_correlate(shot_running_fit *fit, double seconds) {
    fit->noise.correlation = seconds;
}

shot_status shot_running_fit_push(shot_running_fit *fit, double t, double y) {
    return shot_sliding_window_push(fit->window, t, y);
}

shot_status shot_running_fit_push_block(shot_running_fit *fit, const double *t, const double *y,
                                        size_t n) {
    return shot_sliding_window_push_block(fit->window, t, y, n);
}

void shot_running_fit_finish(shot_running_fit *fit) {
    shot_sliding_window_finish(fit->window);
}

/* ---- what the window holds ---- */

static void look_at_new(shot_running_fit *fit, const shot_window_view *view) {
    if (fit->seen < view->first)
        fit->seen = view->first;
    for (; fit->seen < view->first + view->n; fit->seen++) {
        const size_t i = fit->seen - view->first;
        if (i >= 1 && view->y[i] != view->y[i - 1])
            fit->moved = fit->seen;
        if (i >= 2 && even_stretch_bends(view->t + i - 2))
            fit->uneven = fit->seen; /* sample seen - 1, plus 1 */
    }
}

/* Evenly spaced within rounding. */
static bool is_even(const shot_running_fit *fit, const shot_window_view *view) {
    return view->n >= 2 && fit->uneven <= view->first + 1 &&
           even_stretch_straight(view->t, view->n);
}

/* All values are the same. */
static bool is_flat(const shot_running_fit *fit, const shot_window_view *view) {
    return fit->moved <= view->first;
}

static void settle_flat(const shot_running_fit *fit, const shot_window_view *view,
                        shot_local_fit_value *out) {
    if (!isnan(out->value))
        out->value = fit->rule.derivative == 0 ? view->y[0] : 0;
}

/* A missing sample is filled only between samples. */
static bool lies_between(const shot_window_view *view) {
    return view->n > 0 && view->t[0] < view->at && view->at < view->t[view->n - 1];
}

/* The half-width of the tricube in seconds, 0 without a taper. */
static double taper_of(const shot_running_fit *fit, const shot_window_view *view) {
    const shot_reach reach = fit->rule.reach;
    const double longer = fmax(reach.before, reach.after);
    if (!fit->rule.tapered)
        return 0;
    if (!reach.samples)
        return longer;
    const double far = fmax(view->middle - view->t[0], view->t[view->n - 1] - view->middle);
    return far > 0 ? far * (longer + 1) / longer : 1;
}

/* ---- the ways ---- */

static shot_status fit_afresh(shot_running_fit *fit, const shot_window_view *view,
                              shot_local_fit_value *out) {
    const bool at_start = view->first == 0 && !view->centred;
    shot_local_fit *one = at_start ? fit->first : fit->fit;
    size_t *fitted = at_start ? &fit->first_fitted : &fit->fitted;
    if (*fitted != view->first + 1 || view->centred) {
        const shot_status status =
            shot_local_fit_set(one, view->t, view->y, view->n, view->middle, taper_of(fit, view));
        if (status != SHOT_OK && status != SHOT_ERR_SINGULAR)
            return status;
        *fitted = view->centred ? 0 : view->first + 1;
    }
    *out = shot_local_fit_at(one, view->at, fit->rule.derivative);
    return SHOT_OK;
}

/* The weights that are kept for a window, or new ones. */
static shot_status prepare_even(shot_running_fit *fit, const shot_window_view *view, double taper,
                                const even_weights **out) {
    *out = even_weights_find(&fit->even, view, taper);
    if (*out != NULL)
        return SHOT_OK;
    fit->fitted = 0;
    return even_weights_make(&fit->even, view, taper, fit->rule.derivative, fit->fit, out);
}

/* The taper in samples: whole numbers of steps differ from window to window by rounding, which must
 * not make new weights each time. */
static double taper_in_samples(double taper, double step) {
    const double samples = taper / step, whole = nearbyint(samples);
    return fabs(samples - whole) < 1e-6 ? whole : samples;
}

static void apply_even(const shot_running_fit *fit, const shot_window_view *view,
                       const even_weights *even, double step, shot_local_fit_value *out) {
    double unit = 1;
    for (size_t d = 0; d < fit->rule.derivative; d++)
        unit /= step;
    out->value = unit * dot(even->weight, view->y, view->n);
    out->gain = unit * unit * even->gain;
}

static double step_of(const shot_window_view *view) {
    return (view->t[view->n - 1] - view->t[0]) / (double)(view->n - 1);
}

static shot_status fit_even(shot_running_fit *fit, const shot_window_view *view,
                            shot_local_fit_value *out) {
    const double step = step_of(view);
    const even_weights *even;
    SHOT_TRY(prepare_even(fit, view, taper_in_samples(taper_of(fit, view), step), &even));
    apply_even(fit, view, even, step, out);
    return SHOT_OK;
}

/* The window at an end, for one of the samples in it; others are fitted afresh. */
static shot_status fit_end(shot_running_fit *fit, const shot_window_view *view,
                           shot_local_fit_value *out) {
    const even_weights *even;
    bool made;
    if (fit->rule.tapered || view->own >= view->n || view->n > EVEN_ENDS_LONGEST ||
        !is_even(fit, view))
        return fit_afresh(fit, view, out);
    SHOT_TRY(even_ends_find(&fit->ends, view, fit->rule.derivative, fit->fit, &even, &made));
    fit->fitted = made ? 0 : fit->fitted;
    apply_even(fit, view, even, step_of(view), out);
    return SHOT_OK;
}

static bool goes_by_sums(const shot_running_fit *fit) {
    return !fit->rule.tapered && fit->rule.order <= MOMENTS_HIGHEST_ORDER;
}

/* What the sums tell of a window, or a fit of its own where that would be too little. */
static shot_status take_found(shot_running_fit *fit, const shot_window_view *view,
                              const moments_value *found, shot_local_fit_value *out) {
    *out = found->is;
    return found->good ? SHOT_OK : fit_afresh(fit, view, out);
}

static shot_status fit_by_sums(shot_running_fit *fit, const shot_window_view *view,
                               shot_local_fit_value *out) {
    window_moments window;
    moments_value found;
    SHOT_TRY(sliding_moments_follow(&fit->sums, view));
    sliding_moments_put(&fit->sums, view, &window);
    sliding_moments_solve(&window, fit->rule.order, fit->rule.derivative, &found);
    return take_found(fit, view, &found, out);
}

static shot_status fit_window(shot_running_fit *fit, const shot_window_view *view,
                              shot_local_fit_value *out) {
    if (!view->centred)
        return fit_end(fit, view, out);
    if (view->own < view->n && is_even(fit, view))
        return fit_even(fit, view, out);
    if (goes_by_sums(fit))
        return fit_by_sums(fit, view, out);
    return fit_afresh(fit, view, out);
}

/* The gain where the noise of the window's samples is correlated: from their weights. */
static shot_status weigh_correlated(shot_running_fit *fit, const shot_window_view *view,
                                    double *gain) {
    shot_local_fit_value value;
    SHOT_TRY(fit_afresh(fit, view, &value));
    const shot_local_fit *one = view->first == 0 && !view->centred ? fit->first : fit->fit;
    return fit_noise_gain(&fit->noise, one, view->t, view->n, view->at, fit->rule.derivative, gain);
}

/* The result of a row that is wanted; a window with too few samples gives none. */
static shot_status fit_row(shot_running_fit *fit, const shot_window_view *view,
                           shot_local_fit_value *out) {
    *out = (shot_local_fit_value){NAN, NAN};
    if (view->n <= fit->rule.order)
        return SHOT_OK;
    SHOT_TRY(fit_window(fit, view, out));
    if (fit->noise.correlation > 0)
        SHOT_TRY(weigh_correlated(fit, view, &out->gain));
    if (is_flat(fit, view))
        settle_flat(fit, view, out);
    return SHOT_OK;
}

/* ... and where its window stood: *centred. */
static shot_status next_row(shot_running_fit *fit, shot_running_fit_at *at, bool *ready,
                            bool *centred) {
    shot_window_view view;
    *ready = shot_sliding_window_next(fit->window, &view);
    if (!*ready)
        return SHOT_OK;
    look_at_new(fit, &view);
    shot_local_fit_value value = {NAN, NAN};
    if (!isnan(view.value) || lies_between(&view))
        SHOT_TRY(fit_row(fit, &view, &value));
    *at = (shot_running_fit_at){view.at, view.value, value.value, value.gain};
    *centred = view.centred;
    return SHOT_OK;
}

shot_status shot_running_fit_next(shot_running_fit *fit, shot_running_fit_at *at, bool *ready) {
    return next_row(fit, at, ready, &(bool){false});
}

/* ---- many at once ---- */

/* How many of the values are that of the one before them; y[-1] is there. */
SHOT_WIDE static size_t count_stays(const double *y, size_t n) {
    double stays = 0;
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

SHOT_WIDE static void scale_rows(const double *restrict unit, double gain_of_one, size_t rows,
                                 double *restrict fitted, double *restrict gain) {
    for (size_t i = 0; i < rows; i++) {
        fitted[i] = unit[i] * fitted[i];
        gain[i] = unit[i] * unit[i] * gain_of_one;
    }
}

SHOT_WIDE static void fill(double value, size_t n, double *out) {
    for (size_t i = 0; i < n; i++)
        out[i] = value;
}

/* Bring results for spacing 1 to that of each window, and tell their gains.  A value itself is that
 * of any spacing. */
static void scale_to_spacing(const shot_running_fit *fit, const shot_window_view *view,
                             double gain_of_one, size_t rows, double *fitted, double *gain) {
    double unit[EVEN_ROWS];
    if (fit->rule.derivative > 0) {
        even_stretch_units(view->t, view->n, rows, fit->rule.derivative, unit);
        scale_rows(unit, gain_of_one, rows, fitted, gain);
        return;
    }
    fill(gain_of_one, rows, gain);
}

/* Like windows, the first one as given, all evenly spaced. */
static shot_status fit_even_rows(shot_running_fit *fit, const shot_window_view *view, size_t rows,
                                 double *fitted, double *gain) {
    const even_weights *even;
    SHOT_TRY(prepare_even(fit, view, 0, &even));
    even_stretch_filter(even->weight, view->n, view->y, rows, fitted);
    scale_to_spacing(fit, view, even->gain, rows, fitted, gain);
    flatten(fit, view, rows, fitted);
    fit->seen = view->first + view->n + rows - 1;
    return SHOT_OK;
}

/* A window by itself. */
static shot_status fit_one(shot_running_fit *fit, const shot_window_view *view, double *fitted,
                           double *gain) {
    shot_local_fit_value value;
    look_at_new(fit, view);
    SHOT_TRY(fit_row(fit, view, &value));
    *fitted = value.value;
    *gain = value.gain;
    return SHOT_OK;
}

/* Rows of a stretch whose windows are evenly spaced, of which so many are left; none in *count
 * where the first one's is not. */
static shot_status fit_even_ones(shot_running_fit *fit, const shot_window_view *view, size_t left,
                                 double *fitted, double *gain, size_t *count) {
    const size_t most = left < EVEN_ROWS ? left : EVEN_ROWS;
    const bool uneven = fit->uneven > view->first + 1; /* as is_even would find */
    const bool as_one = !fit->rule.tapered && view->n >= 2 && view->n > fit->rule.order && !uneven;
    *count = as_one ? even_stretch_rows(view->t, view->n, most) : 0;
    if (*count == 0)
        return SHOT_OK;
    look_at_new(fit, view);
    return fit_even_rows(fit, view, *count, fitted, gain);
}

/* Rows whose polynomials are found side by side. */
enum { SIDE_BY_SIDE = 4 };

typedef struct uneven_rows {
    window_moments window[SIDE_BY_SIDE];
    moments_value found[SIDE_BY_SIDE];
    shot_window_view view[SIDE_BY_SIDE];
    bool flat[SIDE_BY_SIDE];
    size_t count;
} uneven_rows;

/* The rows from one on, up to number `end` or one whose window is even or too short. */
static shot_status gather_uneven(shot_running_fit *fit, const window_batch *batch, window_row row,
                                 size_t end, uneven_rows *out) {
    out->count = 0;
    for (; out->count < SIDE_BY_SIDE && row.row < end; window_row_move(&row, 1)) {
        const shot_window_view view = window_batch_view(batch, &row);
        if (view.n <= fit->rule.order)
            return SHOT_OK;
        look_at_new(fit, &view);
        if (is_even(fit, &view))
            return SHOT_OK;
        SHOT_TRY(sliding_moments_follow(&fit->sums, &view));
        sliding_moments_put(&fit->sums, &view, &out->window[out->count]);
        out->flat[out->count] = is_flat(fit, &view);
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

/* Rows that go by sums; none in *count where the first one does not. */
static shot_status fit_uneven_ones(shot_running_fit *fit, const window_batch *batch, window_row row,
                                   size_t end, double *fitted, double *gain, size_t *count) {
    uneven_rows rows;
    *count = 0;
    if (!goes_by_sums(fit))
        return SHOT_OK;
    SHOT_TRY(gather_uneven(fit, batch, row, end, &rows));
    solve_uneven(fit, &rows);
    for (; *count < rows.count; (*count)++) {
        const shot_window_view *view = &rows.view[*count];
        shot_local_fit_value value;
        SHOT_TRY(take_found(fit, view, &rows.found[*count], &value));
        if (rows.flat[*count])
            settle_flat(fit, view, &value);
        fitted[*count] = value.value;
        gain[*count] = value.gain;
    }
    return SHOT_OK;
}

/* Some of the rows of a batch from one on, up to number `end`; how many in *count. */
static shot_status fit_rows(shot_running_fit *fit, const window_batch *batch, window_row row,
                            size_t end, double *fitted, double *gain, size_t *count) {
    const shot_window_view view = window_batch_view(batch, &row);
    SHOT_TRY(fit_even_ones(fit, &view, row.stretch->rows - row.at, fitted, gain, count));
    if (*count == 0)
        SHOT_TRY(fit_uneven_ones(fit, batch, row, end, fitted, gain, count));
    if (*count > 0)
        return SHOT_OK;
    *count = 1;
    return fit_one(fit, &view, fitted, gain);
}

/* The results of a batch of windows, at most `room`; how many in *count. */
static shot_status take_batch(shot_running_fit *fit, size_t room, double *fitted, double *gain,
                              size_t *count) {
    window_batch batch;
    *count = window_batch_find(fit->window, room, &batch);
    for (window_row row = window_batch_begin(&batch); row.row < *count;) {
        size_t more;
        SHOT_TRY(fit_rows(fit, &batch, row, *count, fitted + row.row, gain + row.row, &more));
        window_row_move(&row, more);
    }
    window_batch_pass(fit->window, &batch, *count);
    return SHOT_OK;
}

/* Rows near the ends, whose window is that of the end, are no batch: after one of them, the next
 * one is likely to be another.  Nor are rows whose gains take the weights of their own window. */
shot_status shot_running_fit_take(shot_running_fit *fit, size_t room, double *fitted, double *gain,
                                  size_t *count) {
    bool ready = true, at_end = false;
    for (*count = 0; *count < room && ready;) {
        size_t more = 0;
        if (!at_end && !(fit->noise.correlation > 0))
            SHOT_TRY(take_batch(fit, room - *count, fitted + *count, gain + *count, &more));
        *count += more;
        if (*count == room)
            break;
        shot_running_fit_at at; /* behind a batch mostly a row without a value, or none yet */
        bool centred = true;
        SHOT_TRY(next_row(fit, &at, &ready, &centred));
        at_end = ready && !centred && !isnan(at.value);
        if (ready) {
            fitted[*count] = at.fitted;
            gain[(*count)++] = at.gain;
        }
    }
    return SHOT_OK;
}
