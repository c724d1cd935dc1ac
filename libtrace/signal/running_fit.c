/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A polynomial fit that slides over a stream. */
#include <shottrace/signal/running_fit.h>

#include <math.h>
#include <stdlib.h>

#include "dot.h"
#include "even_stretch.h"
#include "running_fit_parts.h"

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
    fit->even = &fit->own;
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
    even_weights_free(&fit->own);
    fit_noise_free(&fit->noise);
    free(fit);
}

void running_fit_share(shot_running_fit *fit, const shot_running_fit *with) {
    fit->even = with->even;
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

void running_fit_look(shot_running_fit *fit, const shot_window_view *view) {
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

bool running_fit_is_flat(const shot_running_fit *fit, const shot_window_view *view) {
    return fit->moved <= view->first;
}

void running_fit_settle_flat(const shot_running_fit *fit, const shot_window_view *view,
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

/* ---- on an even grid ---- */

/* The taper in steps: whole numbers of them differ from window to window by rounding, which must
 * not make new weights each time. */
static double taper_in_steps(double taper, double step) {
    const double steps = taper / step, whole = nearbyint(steps);
    return fabs(steps - whole) < 1e-6 ? whole : steps;
}

static double step_of(const shot_window_view *view, size_t missing) {
    return (view->t[view->n - 1] - view->t[0]) / (double)(view->n - 1 + missing);
}

bool running_fit_shape(const shot_running_fit *fit, const shot_window_view *view, even_shape *out) {
    even_shape shape = {.n = view->n, .own = view->own};
    if (view->own >= view->n)
        return false;
    if (!is_even(fit, view) &&
        (view->n > EVEN_LONGEST ||
         even_stretch_hole_rows(view->t, view->n, 1, &shape.behind, &shape.missing) == 0))
        return false;
    if (fit->rule.tapered)
        shape.taper = taper_in_steps(taper_of(fit, view), step_of(view, shape.missing));
    *out = shape;
    return true;
}

shot_status running_fit_weights(shot_running_fit *fit, const even_shape *shape,
                                const even_weights **out) {
    *out = even_weights_find(fit->even, shape);
    if (*out != NULL)
        return SHOT_OK;
    fit->fitted = 0;
    return even_weights_make(fit->even, shape, fit->rule.derivative, fit->fit, out);
}

shot_status running_fit_even(shot_running_fit *fit, const shot_window_view *view,
                             const even_shape *shape, shot_local_fit_value *out) {
    const even_weights *even;
    double unit = 1;
    SHOT_TRY(running_fit_weights(fit, shape, &even));
    for (size_t d = 0; d < fit->rule.derivative; d++)
        unit /= step_of(view, shape->missing);
    out->value = unit * dot(even->weight, view->y, view->n);
    out->gain = unit * unit * even->gain;
    return SHOT_OK;
}

bool running_fit_end_shape(const shot_running_fit *fit, const shot_window_view *view,
                           even_shape *out) {
    *out = (even_shape){.n = view->n, .own = view->own};
    return !fit->rule.tapered && view->own < view->n && view->n <= EVEN_LONGEST &&
           is_even(fit, view);
}

/* The window at an end; others than even ones are fitted afresh, once for all rows that they serve.
 */
static shot_status fit_end(shot_running_fit *fit, const shot_window_view *view,
                           shot_local_fit_value *out) {
    even_shape shape;
    return running_fit_end_shape(fit, view, &shape) ? running_fit_even(fit, view, &shape, out)
                                                    : fit_afresh(fit, view, out);
}

/* ---- one row ---- */

bool running_fit_goes_by_sums(const shot_running_fit *fit) {
    return !fit->rule.tapered && fit->rule.order <= MOMENTS_HIGHEST_ORDER;
}

shot_status running_fit_take_found(shot_running_fit *fit, const shot_window_view *view,
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
    return running_fit_take_found(fit, view, &found, out);
}

static shot_status fit_window(shot_running_fit *fit, const shot_window_view *view,
                              shot_local_fit_value *out) {
    even_shape shape;
    if (!view->centred)
        return fit_end(fit, view, out);
    if (running_fit_shape(fit, view, &shape))
        return running_fit_even(fit, view, &shape, out);
    if (running_fit_goes_by_sums(fit))
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

/* A window with too few samples gives none. */
shot_status running_fit_row(shot_running_fit *fit, const shot_window_view *view,
                            shot_local_fit_value *out) {
    *out = (shot_local_fit_value){NAN, NAN};
    if (view->n <= fit->rule.order)
        return SHOT_OK;
    SHOT_TRY(fit_window(fit, view, out));
    if (fit->noise.correlation > 0)
        SHOT_TRY(weigh_correlated(fit, view, &out->gain));
    if (running_fit_is_flat(fit, view))
        running_fit_settle_flat(fit, view, out);
    return SHOT_OK;
}

shot_status shot_running_fit_next(shot_running_fit *fit, shot_running_fit_at *at, bool *ready) {
    shot_window_view view;
    *ready = shot_sliding_window_next(fit->window, &view);
    if (!*ready)
        return SHOT_OK;
    running_fit_look(fit, &view);
    shot_local_fit_value value = {NAN, NAN};
    if (!isnan(view.value) || lies_between(&view))
        SHOT_TRY(running_fit_row(fit, &view, &value));
    *at = (shot_running_fit_at){view.at, view.value, value.value, value.gain};
    return SHOT_OK;
}
