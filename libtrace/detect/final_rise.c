/* SPDX-License-Identifier: GPL-3.0-or-later */
/* While the headspace fills, the gauge at the pump of a restricted machine shows what the jet
 * takes; when the water has met the coffee and pressure builds up behind the jet, the gauge makes a
 * last small rise of 0.1 to 0.6 bar and stays (common practice, no source).  Two pictures of it: a
 * stand that begins to rise, or a steep ramp that goes over into a slower one and then into the
 * plateau. */
#include "detect/final_rise.h"

#include <math.h>

#include "detect/jet_end.h"
#include "detect/onset.h"
#include "detect/rising_break.h"

static const double LEAST_RISE = 0.09, MOST_RISE = 0.7; /* bar; a tenth either way for noise */
static const double STANDS = 0.25; /* of the steepest slope: what is slower stands, nearly */
static const double WITHIN = 4;    /* s in which the rise is over */
static const double BESIDE = 1;    /* s: the gauge before it; it comes up in as many behind it */

/* Mean over half a second from `time` on, longer where it holds no two samples. */
static double level_at(const shot_channel_view *view, double time) {
    const double length = fmax(0.5, 2 * view->noise.spacing);
    double sum = 0, n = 0;
    for (size_t i = shot_view_first(view, time); i < view->n && view->t[i] < time + length;
         i++, n++)
        sum += view->y[i];
    return n > 0 ? sum / n : NAN;
}

/* Standard error of such a mean. */
static double level_se(const shot_channel_view *view) {
    const shot_noise *noise = &view->noise;
    return noise->sd * sqrt(noise->inflation * fmin(0.5, noise->spacing / 0.5));
}

/* The variance of the mean from `from` to `to`. */
static double mean_variance(const shot_channel_view *view, double from, double to) {
    const shot_noise *noise = &view->noise;
    const double n =
        (double)(shot_view_first(view, nextafter(to, INFINITY)) - shot_view_first(view, from));
    return n > 0 ? noise->sd * noise->sd * fmin(noise->inflation, n) / n : INFINITY;
}

/* Does the channel stand higher from then on, by more than its noise makes of two means (two
 * standard errors)?  No, where nothing is logged. */
static bool steps_up(const shot_channel_view *view, double at) {
    const double from = at + BESIDE, to = at + WITHIN;
    const double rise = shot_view_mean(view, from, to) - shot_view_mean(view, at - BESIDE, at);
    return rise > 2 * sqrt(mean_variance(view, at - BESIDE, at) + mean_variance(view, from, to));
}

/* The highest half second that ends by `until`. */
static double highest_before(const shot_channel_view *view, double until) {
    double best = NAN;
    for (double from = view->t[0]; from + 0.5 <= fmin(until, view->t[view->n - 1]); from += 0.25)
        best = fmax(best, level_at(view, from));
    return best;
}

/* The pressure comes up for the first time: never before was it as high as half of the rise above
 * its foot.  What only comes back, after a surge or a pause, is no final rise. */
static bool is_fresh(const shot_channel_view *view, double time, double level, double height) {
    return !(highest_before(view, time) > level + 0.5 * height);
}

/* The pump goes on: at the end of the 4 s the pressure is not back where the rise began, as it is
 * between pulses. */
static bool stays(const shot_channel_view *view, double time, double level) {
    return !(level_at(view, time + WITHIN - 0.5) < level);
}

/* The highest half second within 4 s of the knee, before `until`. */
static double highest_after(const shot_channel_view *view, double time, double until) {
    double best = NAN;
    for (double from = time; from + 0.5 <= fmin(time + WITHIN + 0.5, until); from += 0.25)
        best = fmax(best, level_at(view, from));
    return best;
}

static double height_of(const shot_channel_view *view, const shot_knee *knees, size_t count,
                        size_t i) {
    double until = view->t[view->n - 1];
    for (size_t k = i + 1; k < count; k++)
        if (knees[k].after < 0 && knees[k].after < -2 * fabs(knees[i].after)) {
            until = knees[k].at; /* the pump is off, or lowered */
            break;
        }
    return highest_after(view, knees[i].at, until) - knees[i].level_here;
}

/* A ramp that ends in a slower one, which ends in a plateau. */
static bool is_last_ramp(const shot_knee *knees, size_t count, size_t i) {
    return i + 1 < count && knees[i + 1].at - knees[i].at <= WITHIN && knees[i].after > 0 &&
           knees[i].after < 0.6 * knees[i].before &&
           fabs(knees[i + 1].after) < STANDS * knees[i].after;
}

/* The pressure has risen steeply and stands; now it rises again. */
static bool starts_from_a_stand(const shot_knee *knees, size_t i, double steepest) {
    return knees[i].after > knees[i].before && knees[i].after > 0 &&
           fabs(knees[i].before) < STANDS * steepest && knees[i].after < 0.6 * steepest;
}

/* Where pressure is raised on purpose, more water goes through the puck; at the final rise the puck
 * begins to hold it back: a flow that goes up tells the two apart. */
ptrdiff_t shot_final_rise(const shot_channel_view *pressure, const shot_channel_view *flow,
                          const shot_knee *knees, size_t count, double *height) {
    double top = -INFINITY, steepest = 0;
    ptrdiff_t ramp = -1;
    for (size_t i = 0; i < count; i++)
        top = fmax(top, knees[i].level_here);
    for (size_t i = 0; i < count; i++) {
        steepest = fmax(steepest, knees[i].before);
        if (knees[i].level_here < 0.6 * top)
            continue;
        if (knees[i].after < -0.5 * steepest)
            break; /* the pump is off */
        double rise = height_of(pressure, knees, count, i);
        if (!(rise >= LEAST_RISE && rise <= MOST_RISE) ||
            !is_fresh(pressure, knees[i].at, knees[i].level_here, rise) ||
            !stays(pressure, knees[i].at, knees[i].level_here) || steps_up(flow, knees[i].at))
            continue;
        if (starts_from_a_stand(knees, i, steepest)) {
            *height = rise;
            return (ptrdiff_t)i;
        }
        if (ramp < 0 && is_last_ramp(knees, count, i)) {
            ramp = (ptrdiff_t)i;
            *height = rise;
        }
    }
    return ramp;
}

/* ---- from the flow ---- */

shot_status shot_final_rise_in_flow(const shot_channel_view *pressure,
                                    const shot_channel_view *flow, double level, shot_knee *out,
                                    double *height) {
    shot_instant start;
    out->at = NAN;
    SHOT_TRY(shot_jet_end(pressure, flow, level, &start));
    if (isnan(start.at))
        return SHOT_OK;
    double before = level_at(pressure, start.at - 0.5);
    *height = highest_after(pressure, start.at, pressure->t[pressure->n - 1]) - before;
    const double slack = 2 * sqrt(2) * level_se(pressure);
    /* the flow may fall because the puck chokes: the gauge must have come up */
    if (!(steps_up(pressure, start.at) && *height >= LEAST_RISE - slack &&
          *height <= MOST_RISE + slack))
        return SHOT_OK;
    *out = (shot_knee){.at = start.at, .low = start.low, .high = start.high, .level_here = before};
    SHOT_TRY(shot_rising_break(pressure, BESIDE, level, out));
    if (isnan(out->before))
        out->at = NAN;
    return SHOT_OK;
}
