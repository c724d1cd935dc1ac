/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Measures of the stream into the cup for a log without pressure: there is no brew to measure, but
 * the first drop and the weight remain. */
#include "judge/measure_parts.h"

#include <math.h>

/* The last drops of a stream come late and slowly: nearly all of it is a better end. */
static const double NEARLY_ALL = 0.95;

static double weight_at(const shot_view *view, const double *weight, double at) {
    for (size_t i = 0; i < view->rows; i++)
        if (view->time[i] >= at && !isnan(weight[i]))
            return weight[i];
    return NAN;
}

/* When the weight passed `level` for good, between two samples; NaN if it never did. */
static double passed(const shot_view *view, const double *weight, double level) {
    double time = NAN, value = NAN;
    for (size_t i = view->rows; i-- > 0;) {
        if (isnan(weight[i]))
            continue;
        if (weight[i] < level)
            return isnan(time) ? NAN
                               : view->time[i] + (time - view->time[i]) * (level - weight[i]) /
                                                     (value - weight[i]);
        time = view->time[i];
        value = weight[i];
    }
    return NAN;
}

static shot_status add_stream(const shot_view *view, const shot_mark *drip, double mass,
                              shot_measure_list *out) {
    const double *weight = view->cup.weight;
    const double before = weight != NULL ? weight_at(view, weight, drip->from) : NAN;
    const double most = NEARLY_ALL * (mass - before);
    const double end = most > 0 ? passed(view, weight, before + most) : NAN;
    const double length = end - drip->from;
    if (!(length > 0))
        return SHOT_OK;
    SHOT_TRY(shot_measure_list_add(out, "stream.time", length, fmax(end - drip->from_high, 0),
                                   end - drip->from_low, NULL));
    return shot_measure_add_plain(out, "stream.outflow", most / length);
}

shot_status shot_measure_stream(const shot_view *view, shot_measure_list *out) {
    const shot_mark *drip = shot_mark_list_last(&view->shot->marks, "first-drip");
    const shot_measure *mass = shot_measure_list_find(out, "beverage.mass");
    if (drip == NULL || !isnan(view->brew_start.at))
        return SHOT_OK;
    if (isnan(view->water_in))
        SHOT_TRY(shot_measure_list_add(out, "first-drip.clock", drip->from, drip->from_low,
                                       drip->from_high, drip->note));
    return mass == NULL ? SHOT_OK : add_stream(view, drip, mass->value, out);
}
