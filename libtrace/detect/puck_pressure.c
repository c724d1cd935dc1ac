/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The pressure at the puck.
 *
 * Behind a restrictor the puck has less than the pump by K Q^2 (the loss of an orifice goes with
 * the square of the flow, ISO 5167-1).  Pressure at the puck is never below nothing, so K is at
 * most p / Q^2 at every instant; and while the basket fills the puck has nothing, so that K is
 * reached there.  K is therefore the least p / Q^2 over all stretches of strong flow.  A gauge at
 * the puck shows nothing while the basket fills, and K comes out as 0: where the gauge sits need
 * not be known. */
#include "detect/puck_pressure.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "detect/onset.h"

static const double stretch = 0.5; /* s, the shortest that counts as a fill */
static const double shortest = 4;  /* s that most fills take: figures further apart miss them */
static const double strong = 0.6;  /* of the highest flow */
static const double worth = 0.3;   /* bar lost at the highest flow, to be worth the correction */
static const double alike =
    0.25; /* a restrictor's p / Q^2 does not change while the basket fills */
static const double constant = 0.1; /* ... where the line was charged before */

/* p / Q^2 over a stretch; NaN without samples. */
static double ratio_over(const shot_channel_view *pressure, const shot_channel_view *flow,
                         double rest, double from, double to) {
    double p = shot_view_mean(pressure, from, to) - rest, q = shot_view_mean(flow, from, to);
    return p / (q * q);
}

/* Is it the same in both halves of the stretch?  Else the puck itself is coming under pressure. */
static bool is_alike(const shot_channel_view *pressure, const shot_channel_view *flow, double rest,
                     double middle, double length, double tolerance) {
    double a = ratio_over(pressure, flow, rest, middle - length / 2, middle);
    double b = ratio_over(pressure, flow, rest, middle, middle + length / 2);
    return fabs(a - b) <= tolerance * (a + b) / 2;
}

/* A stretch of strong flow. */
typedef struct fill_stretch {
    double ratio, where, length; /* p / Q^2; s */
} fill_stretch;

/* Does the pressure come up in the stretch?  What runs then fills the line before the restrictor
 * too, so that p / Q^2 is less than K. */
static bool is_charging(const shot_channel_view *pressure, double middle, double length) {
    const double a = shot_view_mean(pressure, middle - length / 2, middle);
    const double b = shot_view_mean(pressure, middle, middle + length / 2);
    const double samples = fmax(1, length / 2 / pressure->noise.spacing);
    return b - a > fmax(worth / 3, 5 * pressure->noise.sd / sqrt(samples));
}

/* The stretch of the least p / Q^2 among those from `from` on, without those in which the line is
 * charged where `charged` is set. */
static fill_stretch least_stretch(const shot_channel_view *pressure, const shot_channel_view *flow,
                                  const shot_channel_view *level, double rest, double top,
                                  double length, bool charged) {
    fill_stretch least = {INFINITY, NAN, length};
    for (size_t i = 0; i < level->n; i++) {
        const double t = level->t[i], q = level->y[i];
        if (q < strong * top || q < 5 * flow->noise.sd || t - length / 2 < level->t[0])
            continue;
        const double ratio = ratio_over(pressure, flow, rest, t - length / 2, t + length / 2);
        if (ratio < least.ratio && !(charged && is_charging(pressure, t, 2 * length))) {
            least.ratio = ratio;
            least.where = t;
        }
    }
    return least;
}

/* Does it begin soon after the water, as a line is charged, and does the puck add to it later, as
 * one does that holds water back?  A puck at a constant flow does neither. */
static bool is_filled_after(const shot_channel_view *pressure, const shot_channel_view *flow,
                            const shot_channel_view *level, double rest, double top,
                            const fill_stretch *fill) {
    static const double soon = 3, added = 1.5; /* s; common practice, no source */
    const double half = fill->length / 4;
    double first = NAN, most = 0;
    for (size_t i = 0; i < level->n; i++) {
        const double t = level->t[i];
        if (level->y[i] < 5 * flow->noise.sd)
            continue;
        first = isnan(first) && level->y[i] > strong * top ? t : first;
        if (t > fill->where)
            most = fmax(most, ratio_over(pressure, flow, rest, t - half, t + half));
    }
    return fill->where - first < soon && most > added * fill->ratio;
}

/* Does water run for a while at less than a quarter of the pressure that K would take?  What a
 * restrictor takes, it takes at any flow, so that it was the puck which took it where K was found.
 * A start or a stop, where a meter may lag, is no while. */
static bool is_refuted(const shot_channel_view *pressure, const shot_channel_view *flow,
                       const shot_channel_view *level, double rest, double top, double ratio) {
    static const double span = 2, least = 0.2, clear = 0.5; /* s, of the highest flow, bar */
    const double end = level->t[level->n - 1] - span / 2;
    for (double t = level->t[0] + span / 2; t < end; t += span / 8) {
        const double a = shot_view_mean(flow, t - span / 2, t);
        const double b = shot_view_mean(flow, t, t + span / 2);
        const double q = fmin(a, b), lost = ratio * q * q;
        if (!(q > fmax(least * top, 5 * flow->noise.sd)) || fabs(a - b) > alike * (a + b) / 2)
            continue;
        const double p = shot_view_mean(pressure, t - span / 2, t + span / 2) - rest;
        if (p < lost / 4 && lost - p > clear + 3 * pressure->noise.sd &&
            !is_charging(pressure, t, span))
            return true;
    }
    return false;
}

shot_status shot_restriction(const shot_channel_view *pressure, const shot_channel_view *flow,
                             double rest, bool before, double *until, double *out) {
    shot_channel_view level;
    double top = 0, length = fmax(stretch, 3 * flow->noise.spacing);
    *out = 0;
    if (flow->n < 5 || pressure->n < 5 || length > shortest)
        return SHOT_OK;
    SHOT_TRY(shot_view_smooth(flow, length / 2, &level));
    for (size_t i = 0; i < level.n; i++)
        top = fmax(top, level.y[i]);
    fill_stretch least = least_stretch(pressure, flow, &level, rest, top, length, false);
    double tolerance = alike;
    if (before && !is_alike(pressure, flow, rest, least.where, length, alike) &&
        is_charging(pressure, least.where, 2 * length)) {
        least = least_stretch(pressure, flow, &level, rest, top, length, true);
        least.length = 2 * length; /* the same for longer: a puck that gets wet goes on changing */
        tolerance = is_filled_after(pressure, flow, &level, rest, top, &least) ? constant : 0;
    }
    const bool refuted = !before && is_refuted(pressure, flow, &level, rest, top, least.ratio);
    shot_channel_view_free(&level);
    if (until != NULL)
        *until = least.where + length / 2;
    double lost = least.ratio * top * top;
    if (is_alike(pressure, flow, rest, least.where, least.length, tolerance) &&
        isfinite(least.ratio) && lost > fmax(worth, 5 * pressure->noise.sd) && !refuted)
        *out = least.ratio;
    return SHOT_OK;
}

/* The flow at a time, from the means around it. */
static double flow_near(const shot_channel_view *level, double t) {
    size_t i = shot_view_first(level, t);
    if (i == 0 || i == level->n)
        return level->y[i == 0 ? 0 : level->n - 1];
    double share = (t - level->t[i - 1]) / (level->t[i] - level->t[i - 1]);
    return level->y[i - 1] + share * (level->y[i] - level->y[i - 1]);
}

shot_status shot_puck_pressure(const shot_channel_view *pressure, const shot_channel_view *flow,
                               double restriction, double lag, double rest,
                               shot_channel_view *out) {
    SHOT_TRY(shot_view_copy(pressure, out));
    if (!(restriction > 0))
        return SHOT_OK;
    shot_channel_view level;
    shot_status status = shot_view_smooth(flow, fmax(0.1, 1.1 * flow->noise.spacing), &level);
    double most = 0;
    for (size_t i = 0; i < out->n && status == SHOT_OK; i++) {
        double q = fmax(flow_near(&level, out->t[i] + lag), 0), lost = restriction * q * q;
        out->y[i] = fmax(out->y[i] - lost, fmin(out->y[i], rest));
        most = fmax(most, q);
    }
    /* d(K Q^2) = 2 K Q dQ, about a third of the highest flow where the level is reached */
    double added = 2 * restriction * most / 3 * flow->noise.sd;
    out->noise.sd = hypot(out->noise.sd, added);
    if (status == SHOT_OK)
        shot_channel_view_free(&level);
    return status;
}
