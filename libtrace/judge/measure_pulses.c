/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Measures of a pulsed pre-wetting: its rhythm, and what each pulse did to the puck. */
#include "judge/measure_parts.h"

#include <math.h>

#include <shottrace/signal/normal.h>

/* Of a pulse that hardly raised the pressure there is nothing to halve. */
static const double least_peak = 0.5; /* bar */

/* The pulse's pressure may fall until the next one begins, or the main rise. */
static double end_of_fall(const shot_view *view, const shot_mark *pulse) {
    const shot_mark *next = counted_marks_next(&view->marks, "pulse", pulse);
    if (next != NULL)
        return next->from;
    const shot_mark *ramp = shot_mark_list_last(&view->shot->marks, "ramp");
    return ramp != NULL ? ramp->from : view->brew_start.at;
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
    shot_pulse_effect effect = {shot_view_water(view, pulse->from, pulse->to), NAN, NAN, NAN};
    if (pressure == NULL)
        return effect;
    effect.peak = peak_of(view, pressure, pulse);
    if (!(effect.peak >= least_peak))
        return effect;
    const double half_at = time_at(view, pressure, pulse, effect.peak / 2);
    const double before = time_at(view, pressure, pulse, 0.65 * effect.peak);
    const double behind = time_at(view, pressure, pulse, 0.35 * effect.peak);
    effect.halving = half_at - pulse->to;
    /* over three tenths of the peak about its half, or from the end of the pulse on */
    effect.fall = behind > before ? 0.3 * effect.peak / (behind - before)
                                  : 0.5 * effect.peak / effect.halving;
    return effect;
}

/* Of all pulses together. */
typedef struct pulse_sums {
    double water, peak, halving;
    double half_widths; /* of the intervals of the halvings; NaN where one has none */
    size_t halved;
} pulse_sums;

/* An end of a pulse that lies elsewhere moves the halving, and so does noise on a pressure that
 * falls slowly, of which the sample before and the one behind have as much as one at most.  Where
 * between these two the pressure stood at its half, nobody saw. */
static void add_pulse(const shot_view *view, const shot_mark *pulse, const shot_noise *noise,
                      pulse_sums *sums) {
    const shot_pulse_effect effect = shot_pulse_effect_of(view, pulse);
    sums->water += effect.water;
    sums->peak = fmax(sums->peak, effect.peak);
    if (isnan(effect.halving))
        return;
    const double by_end = isfinite(pulse->to_low) ? (pulse->to_high - pulse->to_low) / 2 : NAN;
    const double z = shot_normal_quantile(0.5 + SHOT_MEASURE_LEVEL / 2);
    const double by_noise = z * noise->sd / effect.fall;
    sums->halving += effect.halving;
    sums->half_widths += hypot(by_end, by_noise) + noise->spacing / 2;
    sums->halved++;
}

static shot_status add_effects(const shot_view *view, shot_measure_list *out) {
    const counted_marks *marks = &view->marks;
    pulse_sums sums = {.peak = NAN};
    shot_noise noise;
    SHOT_TRY(shot_view_noise(view, "pressure", &noise));
    for (const shot_mark *one = counted_marks_next(marks, "pulse", NULL); one != NULL;
         one = counted_marks_next(marks, "pulse", one))
        add_pulse(view, one, &noise, &sums);
    SHOT_TRY(shot_measure_add_plain(out, "pulse.water", sums.water));
    SHOT_TRY(shot_measure_add_plain(out, "pulse.peak", sums.peak));
    if (sums.halved == 0)
        return SHOT_OK;
    const double mean = sums.halving / (double)sums.halved;
    /* ends of pulses of one machine err alike, so that a mean of many is hardly surer than one */
    const double half = sums.half_widths / (double)sums.halved;
    return shot_measure_list_add(out, "pulse.halving", mean, mean - half, mean + half, NULL);
}

/* Over the pulses but the last, which has no pulse after it. */
static shot_status add_rhythm(const counted_marks *marks, const shot_mark *first,
                              shot_measure_list *out) {
    const shot_mark *last = NULL;
    double on = 0, lowest = NAN;
    size_t count = 0;
    for (const shot_mark *one = first; one != NULL; one = counted_marks_next(marks, "pulse", one)) {
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
    const shot_mark *first = counted_marks_next(&view->marks, "pulse", NULL);
    if (first == NULL)
        return SHOT_OK;
    SHOT_TRY(add_rhythm(&view->marks, first, out));
    return add_effects(view, out);
}
