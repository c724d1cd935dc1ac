/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When water enters the basket, and when the first drop leaves it. */
#include <math.h>

#include "detect/course.h"
#include "detect/cup.h"
#include "detect/power_onset.h"

static const shot_instant never = {NAN, NAN, NAN};
static const double longest_fill =
    8; /* s that a basket takes to fill; common practice, no source */

/* The first time at which the channel is over `limit` and stays so in the mean of the next `hold`
 * seconds; and, where these hold two samples more, in their mean without its own, which may be a
 * spike.  In a slower log a pulse may show in one sample. */
static double first_over(const shot_channel_view *view, double limit, double hold) {
    for (size_t i = 0; i < view->n; i++) {
        const double until = view->t[i] + hold;
        if (!(view->y[i] > limit && shot_view_mean(view, view->t[i], until) > limit))
            continue;
        const bool dense = i + 2 < view->n && view->t[i + 2] <= until;
        if (!dense || shot_view_mean(view, view->t[i + 1], until) > limit)
            return view->t[i];
    }
    return NAN;
}

/* What a meter rises by that is no noise.  A person who writes figures down rounds them: by one
 * step it is up. */
static double least_rise(const shot_channel_view *flow) {
    const bool rounded = flow->noise.sd <= 1.001 * flow->step / sqrt(12);
    return rounded && flow->noise.spacing >= 1 ? 0.6 * flow->step : 4 * flow->noise.sd;
}

/* Water was in when the log began, nobody knows since when. */
static shot_instant before_log(const shot_channel_view *view) {
    return (shot_instant){view->t[0], NAN, view->t[0]};
}

/* Between two samples: no sample lies on the way. */
static shot_instant between(const shot_channel_view *view, size_t i) {
    if (i == 0)
        return before_log(view);
    return (shot_instant){(view->t[i - 1] + view->t[i]) / 2, view->t[i - 1], view->t[i]};
}

/* The end of the first part of the way up from sample `over` to sample `top`: a fifth of it and
 * well clear of the noise, but three samples at least and not over half. */
static size_t first_part(const shot_channel_view *view, double rest, size_t over, size_t top) {
    double height = view->y[top] - rest;
    double enough = fmax(0.2 * height, 6 * view->noise.sd);
    size_t start = over, end = over;
    while (start > 0 && view->y[start - 1] > rest + 2 * view->noise.sd)
        start--;
    while (end < top && view->y[end] < rest + height / 2 &&
           (view->y[end] < rest + enough || end < start + 3))
        end++;
    return end;
}

/* Onset of a channel that rises from `rest` at about `about`: the level before, and the way up to
 * half of the first height that it reaches. */
static shot_instant onset_place(const shot_channel_view *view, double rest, double limit,
                                double about) {
    double spacing = view->noise.spacing, reach = fmax(1, 4 * spacing);
    size_t over = shot_view_first(view, about), top = over;
    for (size_t i = over; i < view->n && view->t[i] <= about + reach; i++)
        if (view->y[i] > view->y[top])
            top = i;
    double half = rest + (view->y[top] - rest) / 2;
    const double resting = fmin(limit, rest + fmax(4 * view->noise.sd, view->step));
    if (view->y[over] >= half && over > 0 && view->y[over - 1] < limit)
        return between(view, view->y[over - 1] > resting && over > 1 ? over - 1 : over);
    size_t on_way = first_part(view, rest, over, top);
    double back = fmax(2, 8 * spacing);
    shot_power_rule rule = {.from = about - back,
                            .to = view->t[on_way],
                            .earliest = fmax(about - 0.8 - 2 * spacing, view->t[0]),
                            .latest = view->t[on_way],
                            .level = rest,
                            .level_sd = 2 * view->noise.sd,
                            .sign = 1,
                            .powers = 2};
    shot_instant found = shot_power_onset(view, &rule);
    return isnan(found.at) ? between(view, over) : found;
}

static shot_instant onset_near(const shot_channel_view *view, double rest, double limit,
                               double about) {
    return shot_instant_widened(onset_place(view, rest, limit, about), shot_edge_slack(view) / 2);
}

void shot_find_water(const shot_course *course, shot_phases *out) {
    const shot_channel_view *flow = &course->input->flow, *puck = &course->puck;
    double hold = 0.5;
    if (flow->n >= 5 && course->flow_top - course->flow_rest > 6 * flow->noise.sd) {
        double limit = course->flow_rest +
                       fmax(0.1 * (course->flow_top - course->flow_rest), least_rise(flow));
        double about = first_over(flow, limit, hold);
        if (!isnan(about)) {
            out->late = flow->y[0] > limit && about == flow->t[0];
            out->water_in =
                out->late ? before_log(flow) : onset_near(flow, course->flow_rest, limit, about);
            return;
        }
    }
    if (puck->n < 5 || !(course->top - course->rest > fmax(1, 10 * puck->noise.sd)))
        return;
    double limit = course->rest + fmax(0.03 * (course->top - course->rest), 5 * puck->noise.sd);
    double about = first_over(puck, limit, hold);
    if (isnan(about))
        return;
    out->from_pressure = true; /* the basket took water before it showed */
    out->late = about == puck->t[0];
    out->water_in = out->late ? before_log(puck) : onset_near(puck, course->rest, limit, about);
    if (!out->late)
        out->water_in.low = fmax(puck->t[0], out->water_in.at - longest_fill);
}

/* ---- the first drop ---- */

/* Neither a line nor a parabola is known to be the shape, and most streams look more like a line:
 * so much of the way to the parabola. */
static const double towards_parabola = 0.1;

static const double first_part_time = 1; /* s of the stream by which its start is told */

/* Does a parabola fit better than a line?  The better one of both starts where it does. */
static bool is_gentle(const shot_channel_view *weight, const shot_power_rule *line,
                      const shot_instant *gentle) {
    shot_power_rule either = *line;
    either.powers = 2;
    return fabs(shot_power_onset(weight, &either).at - gentle->at) < 1e-6;
}

/* A scale that smooths lags a steady stream by its time constant: carried back, the line of the
 * stream gives the start less just that lag.  But the stream may build up slowly: the interval
 * holds where a parabola would start too.  Where that fits better, what is left when the lag is
 * taken off is no later than where the weight begins to rise, since no drop shows before it falls;
 * figures far apart do not show where that is. */
static shot_instant stream_start(const shot_channel_view *weight, const shot_power_rule *line,
                                 size_t over, double lag) {
    shot_power_rule curved = *line;
    shot_instant found = shot_power_onset(weight, line);
    if (isnan(found.at))
        return between(weight, over);
    curved.least = curved.powers = 2;
    shot_instant gentle = shot_power_onset(weight, &curved);
    if (isnan(gentle.at))
        return found;
    /* the parabola is a limit itself, so that one standard deviation beyond it will do */
    found.low = fmin(found.low, gentle.at - (gentle.at - gentle.low) / 2);
    if (4 * weight->noise.spacing <= first_part_time && is_gentle(weight, line, &gentle))
        found.at = fmin(found.at, gentle.high + lag);
    found.at += fmin(0, gentle.at - found.at) * towards_parabola;
    return found;
}

/* A scale shows drops before it shows a stream: the level before the first, and the curve up to
 * where it is well clear of the noise.  A cup that is knocked goes back.  `lag` is that of the
 * scale, infinite if not known. */
static shot_instant first_weight(const shot_channel_view *weight, double earliest, double lag) {
    double spacing = weight->noise.spacing, sd = weight->noise.sd * sqrt(weight->noise.inflation);
    size_t start = shot_view_first(weight, earliest);
    double first = weight->n > 0 ? fmax(weight->t[0], earliest) : earliest; /* of NaN and t the t */
    double rest = shot_view_mean(weight, weight->t[0], first + fmax(1, 3 * spacing));
    double limit = rest + fmax(5 * sd, 1.5 * weight->step), hold = fmax(1.5, 3 * spacing);
    for (size_t i = isnan(earliest) ? 0 : start; i < weight->n; i++) {
        if (!(weight->y[i] > limit) ||
            !(shot_view_mean(weight, weight->t[i], weight->t[i] + hold) > limit + 3 * sd) ||
            !(shot_view_mean(weight, weight->t[i] + hold / 2, weight->t[i] + hold) > limit))
            continue;
        double about = weight->t[i], end = about + fmax(first_part_time, 4 * spacing);
        shot_power_rule rule = {.from = fmax(first, about - 8),
                                .to = end,
                                .earliest = fmax(first, about - 4),
                                .latest = end - spacing,
                                .level = rest,
                                .level_sd = sd,
                                .sign = 1,
                                .powers = 1};
        return stream_start(weight, &rule, i, lag);
    }
    return never;
}

/* In the first time for which the cup stands untouched and a stream runs into it. */
static shot_instant first_stream(const shot_channel_view *weight, double earliest, double lag) {
    shot_instant seen = never;
    for (size_t at = 0; at < weight->n && isnan(seen.at);) {
        const shot_channel_view stands = shot_cup_stands(weight, &at);
        seen = first_weight(&stands, earliest, lag);
    }
    return seen;
}

/* Drops fall and scales smooth: the weight shows up to so much later.  Common practice, no source.
 */
static const double most_lag = 0.8; /* s */

void shot_find_drip(const shot_course *course, shot_phases *out) {
    const shot_phase_input *input = course->input;
    const shot_channel_view *outflow = &input->outflow;
    double lag = isnan(input->scale_lag) ? 0 : input->scale_lag;
    shot_instant seen = never;
    if (out->late_full)
        return; /* the cup may hold some already */
    if (course->weight.n >= 5) {
        seen = first_stream(&course->weight, out->water_in.at,
                            isnan(input->scale_lag) ? INFINITY : lag);
    } else if (outflow->n >= 5) {
        double limit = fmax(6 * outflow->noise.sd, 1.5 * outflow->step);
        double about = first_over(outflow, limit, 1);
        if (!isnan(about))
            seen = onset_near(outflow, 0, limit, about);
    }
    double unknown = isnan(input->scale_lag) ? most_lag : 0;
    out->first_drip = (shot_instant){seen.at - lag, seen.low - lag - unknown, seen.high - lag};
}
