/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A logger that smooths what its gauge shows. */
#include "detect/logger_filter.h"

#include <math.h>

#include "detect/brewing.h"
#include "signal/noise_times.h"

/* Correlation of rows side by side; common practice, no source. */
static const double coloured = 0.5;

/* A filter of first order delays a rise by its time constant.  A mean over L delays it by L / 2,
 * and a release through it takes L, as through a filter of about L / 3. */
static const double of_a_rise = 1.5;

/* s: noise that is correlated for so long could be for longer (common practice, no source). */
static const double longest_told = 0.8 * NOISE_STRAIGHT_TIME;

/* A filter of first order colours white noise over its own time constant (Box & Jenkins 1976, 'Time
 * Series Analysis', ch. 3, from memory).  Infinite where nobody can tell; 0 where there is none. */
static double by_noise(const shot_phase_input *input) {
    const shot_noise *noise = &input->pressure.noise;
    if (!isnan(input->gauge_lag) || !(noise->lag1 > coloured))
        return 0;
    return noise->correlation < longest_told ? noise->correlation : INFINITY;
}

/* The pressure under which the pump stopped, as a multiple of what passes for none. */
static double let_go(const shot_course *course, const shot_phases *out) {
    return (shot_view_at(&course->level, out->pump_off.at) - course->rest) / shot_no_pressure;
}

/* The release goes through the filter too: a step would take so long, so that no time constant is
 * longer.  Infinite where the log does not show it. */
static double by_release(const shot_course *course, const shot_phases *out) {
    const double fall = out->released.at - out->pump_off.at, by = let_go(course, out);
    return fall > 0 && by > 1 ? fall / log(by) : INFINITY;
}

/* The crossing may have been so much earlier, but not before what led to it. */
static void reach_back(shot_instant *one, double late, const shot_instant *cause) {
    const double low = fmax(one->at - hypot(one->at - one->low, late), cause->low);
    if (low < one->low)
        one->low = low;
}

static bool is_marked(const shot_course *course, shot_moment moment) {
    return !isnan(shot_phase_known(course->input, moment).at);
}

void shot_look_behind_filter(const shot_course *course, shot_phases *out) {
    const double noise = by_noise(course->input);
    if (!(noise > 0))
        return;
    const double most = fmin(noise, by_release(course, out));
    const double tau = isfinite(most) ? most : course->input->pressure.noise.correlation;
    const bool direct = out->rise.at == out->fill_end.at;
    if (out->fill_by_level && !is_marked(course, SHOT_FILL_END))
        reach_back(&out->fill_end, of_a_rise * tau, &out->water_in);
    if (direct && !is_marked(course, SHOT_RISE))
        out->rise = out->fill_end;
    if (!is_marked(course, SHOT_FULL))
        reach_back(&out->full, -tau * log(1 - shot_full_share), &out->rise);
    if (!is_marked(course, SHOT_RELEASED))
        reach_back(&out->released, tau * log(fmax(1, let_go(course, out))), &out->pump_off);
}
