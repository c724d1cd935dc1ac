/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stretches in which a log has no rows. */
#include "detect/log_holes.h"

#include <math.h>

#include <shottrace/signal/sample_gaps.h>

bool shot_hole_before(const shot_channel_view *view, size_t i) {
    return view->t[i] - view->t[i - 1] > SHOT_GAP_FACTOR * view->noise.spacing;
}

/* Does the other channel have no sample between the two times? */
static bool is_silent(const shot_channel_view *other, double from, double to) {
    const size_t i = shot_view_first(other, nextafter(from, INFINITY));
    return i == other->n || other->t[i] >= to;
}

/* Figures that stand in several rows are kept once, and what lies between is no hole. */
static shot_instant over(const shot_channel_view *view, const shot_channel_view *other,
                         shot_instant one) {
    const shot_instant told = one;
    if (view->rows > 0 || isnan(told.low) || isnan(told.high))
        return one;
    for (size_t i = shot_view_first(view, told.low); i < view->n; i++) {
        const double from = i > 0 ? view->t[i - 1] : view->t[i], to = view->t[i];
        if (from >= told.high)
            break;
        if (i > 0 && shot_hole_before(view, i) && is_silent(other, from, to)) {
            one.low = fmin(one.low, from);
            one.high = fmax(one.high, to);
        }
    }
    return one;
}

shot_instant shot_over_holes(const shot_phase_input *input, shot_instant one) {
    const bool pressure = input->pressure.n > 0;
    return over(pressure ? &input->pressure : &input->flow,
                pressure ? &input->flow : &input->pressure, one);
}
