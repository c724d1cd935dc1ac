/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Measures of a pulsed pre-wetting: its rhythm, and what each pulse did to the puck. */
#include "judge/measure_parts.h"

#include <math.h>

/* Of a pulse that hardly raised the pressure there is nothing to halve. */
static const double least_peak = 0.5; /* bar */

/* The pulse's pressure may fall until the next one begins, or the main rise. */
static double end_of_fall(const shot_view *view, const shot_mark *pulse) {
    const shot_mark *next = shot_mark_next_of(&view->shot->marks, "pulse", pulse);
    const shot_mark *ramp = shot_mark_list_last(&view->shot->marks, "ramp");
    return next != NULL ? next->from : ramp != NULL ? ramp->from : view->brew_from;
}

static double peak_of(const shot_view *view, const double *pressure, const shot_mark *pulse) {
    double best = NAN;
    for (size_t i = 0; i < view->rows && view->time[i] <= pulse->to; i++)
        if (view->time[i] >= pulse->from)
            best = fmax(best, shot_view_half_second(view, pressure, i));
    return best;
}

/* When the pressure first stands at `level` after the pulse, between two samples in proportion. */
static double time_at(const shot_view *view, const double *pressure, const shot_mark *pulse,
                      double level) {
    const double end = end_of_fall(view, pulse);
    double last_time = NAN, last = NAN;
    for (size_t i = 0; i < view->rows && !(view->time[i] > end); i++) {
        if (view->time[i] < pulse->to || isnan(pressure[i]))
            continue;
        if (pressure[i] <= level)
            return isnan(last) ? view->time[i]
                               : last_time + (view->time[i] - last_time) * (last - level) /
                                                 (last - pressure[i]);
        last_time = view->time[i];
        last = pressure[i];
    }
    return NAN;
}

shot_pulse_effect shot_pulse_effect_of(const shot_view *view, const shot_mark *pulse) {
    const double *pressure = shot_table_column(view->shot, "pressure");
    shot_pulse_effect effect = {shot_view_water(view, pulse->from, pulse->to), NAN, NAN};
    if (pressure == NULL)
        return effect;
    effect.peak = peak_of(view, pressure, pulse);
    if (effect.peak >= least_peak)
        effect.halving = time_at(view, pressure, pulse, effect.peak / 2) - pulse->to;
    return effect;
}

static shot_status add_effects(const shot_view *view, shot_measure_list *out) {
    const shot_mark_list *marks = &view->shot->marks;
    double water = 0, peak = NAN, halving = 0;
    size_t halved = 0;
    for (const shot_mark *one = shot_mark_next_of(marks, "pulse", NULL); one != NULL;
         one = shot_mark_next_of(marks, "pulse", one)) {
        const shot_pulse_effect effect = shot_pulse_effect_of(view, one);
        water += effect.water;
        peak = fmax(peak, effect.peak);
        if (!isnan(effect.halving)) {
            halving += effect.halving;
            halved++;
        }
    }
    SHOT_TRY(shot_measure_add_plain(out, "pulse.water", water));
    SHOT_TRY(shot_measure_add_plain(out, "pulse.peak", peak));
    return halved > 0 ? shot_measure_add_plain(out, "pulse.halving", halving / (double)halved)
                      : SHOT_OK;
}

/* Over the pulses but the last, which has no pulse after it. */
static shot_status add_rhythm(const shot_mark_list *marks, const shot_mark *first,
                              shot_measure_list *out) {
    const shot_mark *last = NULL;
    double on = 0, lowest = NAN;
    size_t count = 0;
    for (const shot_mark *one = first; one != NULL; one = shot_mark_next_of(marks, "pulse", one)) {
        if (last != NULL) {
            on += last->to - last->from;
            lowest = fmin(lowest, last->value);
            count++;
        }
        last = one;
    }
    if (count == 0)
        return SHOT_OK;
    const double span = last->from - first->from;
    SHOT_TRY(shot_measure_add_plain(out, "pulse.period", span / (double)count));
    SHOT_TRY(shot_measure_add_plain(out, "pulse.duty", 100 * on / span));
    return shot_measure_add_plain(out, "pulse.lowest", lowest);
}

shot_status shot_measure_pulses(const shot_view *view, shot_measure_list *out) {
    const shot_mark *first = shot_mark_next_of(&view->shot->marks, "pulse", NULL);
    if (first == NULL)
        return SHOT_OK;
    SHOT_TRY(add_rhythm(&view->shot->marks, first, out));
    return add_effects(view, out);
}
