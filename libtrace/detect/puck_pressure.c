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

#include "detect/fresh_values.h"
#include "detect/onset.h"

static const double stretch = 0.5; /* s, the shortest that counts as a fill */
static const double shortest = 4;  /* s that most fills take: figures further apart miss them */
static const double strong = 0.6;  /* of the highest flow */
static const double worth = 0.3;   /* bar lost at the highest flow, to be worth the correction */
static const double alike =
    0.25;                     /* a restrictor's p / Q^2 does not change while the basket fills */
static const double held = 3; /* s; common practice, no source */
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
    double begins; /* s; noise alone decides in which part of a long fill the ratio is least */
} fill_stretch;

/* Does the pressure come up in the stretch?  What runs then fills the line before the restrictor
 * too, so that p / Q^2 is less than K. */
static bool is_charging(const shot_channel_view *pressure, double middle, double length) {
    const double a = shot_view_mean(pressure, middle - length / 2, middle);
    const double b = shot_view_mean(pressure, middle, middle + length / 2);
    const double samples = fmax(1, length / 2 / pressure->noise.spacing);
    return b - a > fmax(worth / 3, 5 * pressure->noise.sd / sqrt(samples));
}

/* What least_stretch looks at. */
typedef struct fill_search {
    const shot_channel_view *pressure, *flow, *level; /* level: of the flow */
    double rest, top, length;                         /* bar, ml/s, s */
    bool charged; /* only where the ratio stays the same for twice as long, and the line is full */
} fill_search;

/* p / Q^2 over the stretch around sample i, if the flow is strong there and it is less than
 * `below`; else NaN. */
static double ratio_around(const fill_search *in, size_t i, double below) {
    const double t = in->level->t[i], q = in->level->y[i], half = in->length / 2;
    if (q < strong * in->top || q < 5 * in->flow->noise.sd || t - half < in->level->t[0])
        return NAN;
    const double ratio = ratio_over(in->pressure, in->flow, in->rest, t - half, t + half);
    if (!(ratio < below))
        return NAN;
    const bool counts =
        !in->charged || (!is_charging(in->pressure, t, 2 * in->length) &&
                         is_alike(in->pressure, in->flow, in->rest, t, 2 * in->length, constant));
    return counts ? ratio : NAN;
}

/* The stretch of the least p / Q^2. */
static fill_stretch least_stretch(const fill_search *in) {
    static const double same = 1.03; /* what noise makes of half a second, and no puck */
    const shot_channel_view *level = in->level;
    fill_stretch least = {INFINITY, NAN, in->length, NAN};
    for (size_t i = 0; i < level->n; i++) {
        const double ratio = ratio_around(in, i, least.ratio);
        if (!isnan(ratio))
            least = (fill_stretch){ratio, level->t[i], in->length, level->t[i]};
    }
    for (size_t i = 0; in->charged && i < level->n && level->t[i] < least.begins; i++)
        if (!isnan(ratio_around(in, i, same * least.ratio)))
            least.begins = level->t[i];
    return least;
}

/* Did clearly more water run before that stretch?  A line takes its charge beside what the
 * restrictor lets through; where the flow stays the same, it is the puck that resists. */
static bool is_rush(const shot_channel_view *flow, const fill_stretch *fill) {
    static const double more = 1.1, brief = 0.15; /* s; common practice, no source */
    const double half = fill->length / 2, samples = fmax(1, brief / flow->noise.spacing);
    const double usual = shot_view_mean(flow, fill->where - half, fill->where + half);
    const double clear = more * usual + 4 * flow->noise.sd / sqrt(samples);
    for (size_t i = 0; i < flow->n && flow->t[i] < fill->where; i++)
        if (shot_view_mean(flow, flow->t[i], flow->t[i] + brief) > clear)
            return true;
    return false;
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
    return fill->begins - first < soon && most > added * fill->ratio;
}

/* Does water run for a while at less than a quarter of the pressure that K would take?  What a
 * restrictor takes, it takes at any flow, so that it was the puck which took it where K was found.
 * A start or a stop, where a meter may lag, is no while. */
static bool is_refuted(const shot_channel_view *pressure, const shot_channel_view *flow,
                       const shot_channel_view *level, double rest, double top, double ratio) {
    static const double span = 2, least = 0.1, clear = 0.3; /* s, of the highest flow, bar */
    const double end = level->t[level->n - 1] - span / 2;
    for (double t = level->t[0] + span / 2; t < end;
         t = shot_view_step_on(flow, t, span / 2, span / 8)) {
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

/* Had the puck water over it before that stretch?  A steady flow that met nothing met half a bar
 * later, more than K takes of it: the basket came full meanwhile, and what runs faster later fills
 * nothing. */
static bool was_full(const shot_channel_view *pressure, const shot_channel_view *flow, double rest,
                     const fill_stretch *fill) {
    static const double span = 1, nothing = 0.25, pressed = 0.5; /* s, bar */
    const double slack = 3 * pressure->noise.sd;
    double met_nothing = 0; /* the highest flow that did, ml/s */
    for (double t = flow->t[0] + span / 2; t < fill->where - fill->length;
         t = shot_view_step_on(flow, t, span / 2, span / 4)) {
        const double a = shot_view_mean(flow, t - span / 2, t);
        const double b = shot_view_mean(flow, t, t + span / 2);
        const double p = shot_view_mean(pressure, t - span / 2, t + span / 2) - rest;
        const double q = fmin(a, b), most = fmax(a, b);
        if (!(q > 5 * flow->noise.sd) || most - q > alike * q)
            continue;
        if (p < nothing)
            met_nothing = fmax(met_nothing, most);
        else if (most < met_nothing / (1 - alike) &&
                 p - fill->ratio * most * most > pressed + slack)
            return true;
    }
    return false;
}

/* The same, by stretches of `length`. */
static shot_status restriction_by(const shot_channel_view *pressure, const shot_channel_view *flow,
                                  double rest, bool before, double length, double *until,
                                  double *out) {
    shot_channel_view level;
    double top = 0;
    SHOT_TRY(shot_view_smooth(flow, length / 2, &level));
    for (size_t i = 0; i < level.n; i++)
        top = fmax(top, level.y[i]);
    fill_search in = {pressure, flow, &level, rest, top, length, false};
    fill_stretch least = least_stretch(&in);
    double tolerance = alike;
    if (!is_alike(pressure, flow, rest, least.where, length, alike) &&
        is_charging(pressure, least.where, 2 * length)) {
        in.charged = true;
        least = least_stretch(&in);
        least.length = 2 * length; /* the same for longer: a puck that gets wet goes on changing */
        const bool known = before || is_rush(flow, &least) ||
                           is_alike(pressure, flow, rest, least.where - length + held / 2, held,
                                    constant); /* no puck that gets wet stays the same so long */
        tolerance =
            known && is_filled_after(pressure, flow, &level, rest, top, &least) ? constant : 0;
    }
    const bool refuted = !before && (is_refuted(pressure, flow, &level, rest, top, least.ratio) ||
                                     was_full(pressure, flow, rest, &least));
    shot_channel_view_free(&level);
    if (until != NULL)
        *until = least.where + length / 2;
    double lost = least.ratio * top * top;
    if (is_alike(pressure, flow, rest, least.where, least.length, tolerance) &&
        isfinite(least.ratio) && lost > fmax(worth, 5 * pressure->noise.sd) && !refuted)
        *out = least.ratio;
    return SHOT_OK;
}

shot_status shot_restriction(const shot_channel_view *pressure, const shot_channel_view *flow,
                             double rest, bool before, double *until, double *out) {
    const double length = fmax(stretch, 3 * flow->noise.spacing);
    const double gates =
        2 * shot_view_least_stand(flow); /* figures off by less than a count each */
    *out = 0;
    if (flow->n < 5 || pressure->n < 5 || length > shortest)
        return SHOT_OK;
    if (gates > length)
        SHOT_TRY(restriction_by(pressure, flow, rest, before, gates, until, out));
    if (*out > 0)
        return SHOT_OK;
    return restriction_by(pressure, flow, rest, before, length, until, out);
}

/* The flow at a time, from the means around it. */
static double flow_near(const shot_channel_view *level, double t) {
    size_t i = shot_view_first(level, t);
    if (i == 0 || i == level->n)
        return level->y[i == 0 ? 0 : level->n - 1];
    double share = (t - level->t[i - 1]) / (level->t[i] - level->t[i - 1]);
    return level->y[i - 1] + share * (level->y[i] - level->y[i - 1]);
}

/* From when the pump came on until the basket was full the puck has nothing: what is left there is
 * a meter that follows late, or a line that is charged. */
static void take_off_before(shot_channel_view *puck, const shot_channel_view *flow,
                            const shot_restrictor *restrictor, double rest) {
    static const double late = 1; /* s by which the pressure may show before a meter */
    const double filled = restrictor->filled, most = flow_near(flow, filled);
    size_t on = shot_view_first(flow, filled);
    while (on > 0 && flow->y[on - 1] > 0.1 * most)
        on--;
    if (on == flow->n)
        return;
    for (size_t i = shot_view_first(puck, filled - restrictor->lag);
         i-- > 0 && puck->t[i] >= flow->t[on] - late;)
        puck->y[i] = fmin(puck->y[i], rest);
}

double shot_restrictor_half(const shot_channel_view *flow) {
    return fmax(0.1, 1.1 * fmax(flow->noise.spacing, shot_view_least_stand(flow)));
}

shot_status shot_puck_pressure(const shot_channel_view *pressure, const shot_channel_view *flow,
                               const shot_restrictor *restrictor, double rest,
                               shot_channel_view *out) {
    SHOT_TRY(shot_view_copy(pressure, out));
    if (!(restrictor->k > 0))
        return SHOT_OK;
    shot_channel_view level;
    const shot_status status = shot_view_smooth(flow, restrictor->half, &level);
    if (status != SHOT_OK) {
        shot_channel_view_free(out);
        return status;
    }
    double most = 0;
    for (size_t i = 0; i < out->n; i++) {
        double q = fmax(flow_near(&level, out->t[i] + restrictor->lag), 0);
        double lost = restrictor->k * q * q;
        out->y[i] = fmax(out->y[i] - lost, fmin(out->y[i], rest));
        most = fmax(most, q);
    }
    /* d(K Q^2) = 2 K Q dQ, about a third of the highest flow where the level is reached */
    double added = 2 * restrictor->k * most / 3 * flow->noise.sd;
    out->noise.sd = hypot(out->noise.sd, added);
    if (!isnan(restrictor->filled))
        take_off_before(out, &level, restrictor, rest);
    shot_channel_view_free(&level);
    return SHOT_OK;
}

/* SD of the mean of a meter's figures over 2 half.  Where each stands in many rows, rounding is all
 * that is known of them: a count is the difference of two that were cut off (step / sqrt(6)), and
 * so is the sum of some on end. */
static double mean_flow_sd(const shot_channel_view *flow, double half) {
    const double gate = shot_view_least_stand(flow);
    if (gate > 0)
        return flow->step / sqrt(6) * gate / (2 * half);
    return flow->noise.sd * sqrt(flow->noise.inflation / fmax(1, 2 * half / flow->noise.spacing));
}

double shot_restrictor_loss_sd(const shot_restrictor *restrictor, const shot_channel_view *flow,
                               double t) {
    const double k = restrictor->k, shown = t + restrictor->lag;
    if (!(k > 0))
        return 0;
    const double half = restrictor->half, wide = fmax(half, stretch), filled = restrictor->filled;
    const bool common = flow->rows > 0 || shot_view_least_stand(flow) > 0;
    const double q = fmax(0, shot_view_mean(flow, shown - half, shown + half));
    const double change =
        shot_view_mean(flow, shown, shown + wide) - shot_view_mean(flow, shown - wide, shown);
    /* how the meter answers nobody says: half of the lag that a mere delay would be */
    const double turn = change / wide * restrictor->lag / 2;
    const double q_sd = hypot(common ? mean_flow_sd(flow, half) : 0, turn);
    const double full = shot_view_mean(flow, filled - stretch, filled);
    const double k_share = full > 0 ? 2 * mean_flow_sd(flow, stretch / 2) / full : 0;
    const double loss = 2 * k * q * q_sd + k_share * k * q * q;
    return isfinite(loss) ? loss : 0;
}
