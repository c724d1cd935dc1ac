/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When the pump stands, by the flow. */
#include <math.h>

#include "detect/fresh_values.h"
#include "detect/power_onset.h"
#include "detect/pump_gap_search.h"

/* ---- edges ---- */

/* A new figure in the row at `at`: the change came since the one before, or since a tenth of its
 * time before that, which passes for none. */
static shot_instant while_it_stood(double at, double stands) {
    const double low = at - 1.1 * stands;
    return (shot_instant){(low + at) / 2, low, at};
}

/* Where the channel leaves `level` for good on its way to the far side, after sample `from` and not
 * after sample `to`: between two samples if it does so at once, or since the figure before where
 * one `stands` (shot_view_least_stand); else where the line of its way meets the level.  sign 1:
 * rises, -1: falls. */
static shot_status leaves(const shot_channel_view *view, double stands, double level, double far,
                          size_t from, size_t to, int sign, shot_instant *out) {
    double slack = fmax(2.5 * view->noise.sd, 0.1 * fabs(far - level));
    size_t last = from; /* the last sample at the level */
    for (size_t i = from; i <= to; i++)
        if (sign * (view->y[i] - level) < slack)
            last = i;
    size_t next = last < to ? last + 1 : to;
    double middle = (level + far) / 2;
    const shot_instant between = {(view->t[last] + view->t[next]) / 2, view->t[last],
                                  view->t[next]};
    *out = stands > 0 ? while_it_stood(view->t[next], stands) : between;
    if (stands > 0 || sign * (view->y[next] - middle) > 0 || next == to)
        return SHOT_OK;
    size_t half = next;
    while (half < to && sign * (view->y[half] - middle) < 0)
        half++;
    double spacing = view->noise.spacing, back = fmax(0.8, 4 * spacing);
    size_t first = last; /* since when it was at the level */
    while (first > 0 && view->t[first - 1] >= view->t[last] - back &&
           sign * (view->y[first - 1] - level) > -2 * slack)
        first--;
    double since = view->t[first] - spacing;
    shot_power_rule rule = {.from = since,
                            .to = view->t[half],
                            .earliest = fmax(since, view->t[last] - 2 * spacing - 0.3),
                            .latest = view->t[half],
                            .level = level,
                            .level_sd = 3 * view->noise.sd,
                            .sign = sign,
                            .powers = 2};
    SHOT_TRY(shot_power_onset(view, &rule, out));
    if (isnan(out->at))
        *out = between;
    return SHOT_OK;
}

/* ---- does the pump stand? ---- */

double pump_flow_at_rest(const shot_channel_view *flow, double from) {
    double rest = shot_view_mean(flow, flow->t[0], from - 2 * flow->noise.spacing);
    if (!isnan(rest))
        return rest;
    double low = 0.1 * pump_highest(flow, flow->t[0], flow->t[flow->n - 1]);
    size_t last = flow->n;
    while (last > 0 && flow->y[last - 1] <= low)
        last--;
    double seconds = 2 * flow->noise.spacing; /* a meter may show the last water late */
    rest = last > 0 && last < flow->n
               ? shot_view_mean(flow, flow->t[last] + seconds, flow->t[flow->n - 1])
               : NAN;
    return isnan(rest) ? 0 : rest;
}

/* The stretch around the trough of a dip in which the flow is low: samples first..last. */
static void low_stretch(const shot_channel_view *flow, const pump_dip *d, double rest, double top,
                        size_t *first, size_t *last) {
    double low = rest + fmax(0.1 * top, 4 * flow->noise.sd);
    *first = *last = d->trough;
    while (*first > d->peak && flow->y[*first - 1] <= low)
        (*first)--;
    while (*last < d->end && flow->y[*last + 1] <= low)
        (*last)++;
}

/* Does the flow fall to the low samples first..last, or rise from them, by more than half at once?
 * A lone one is then a stray one; a pump that stands may still show in a lone sample on its way
 * down and up. */
static bool is_steep(const shot_channel_view *flow, const pump_dip *d, size_t first, size_t last,
                     double rest) {
    size_t next = d->end;
    while (next + 1 < flow->n && flow->y[next + 1] >= flow->y[next])
        next++;
    return flow->y[first - 1] - rest > 0.5 * (flow->y[d->peak] - rest) ||
           flow->y[last + 1] - rest > 0.5 * (flow->y[next] - rest);
}

/* Does the pressure rise (1) or fall (-1) while the flow is low, or stay (0)?  *before gets what it
 * was, *after what it becomes. */
static int pressure_goes(const shot_channel_view *pressure, double from, double to, double *before,
                         double *after) {
    double half = fmax(0.2, pressure->noise.spacing);
    *before = shot_view_mean(pressure, from - half, fmin(from + half, to)); /* not what follows */
    *after = shot_view_mean(pressure, fmax(to - half, from), to);
    const double later = shot_view_mean(pressure, fmax(from, fmin(to - half, (from + to) / 2)), to);
    double least = fmax(0.1 * fmax(*before, *after), 3 * pressure->noise.sd);
    double rises = fmax(least, 0.4 * pressure->step); /* a figure that flickers does not rise */
    return *before - *after > least ? -1 : later - *before > rises ? 1 : 0;
}

static const double pressed = 0.5; /* bar: a puck under pressure */

typedef enum pump_state { RUNS, SEEMS_TO_STAND, STANDS } pump_state;

/* Is the flow cut off for a moment between two strong runs?  Nobody holds a puck for so short. */
static bool is_break(const pump_gap_search *search, size_t first, size_t last, double top) {
    static const double shortest_hold = 2; /* s; common practice, no source */
    const shot_channel_view *flow = &search->input->flow;
    const double strong = search->flow_rest + 0.5 * top, near = fmax(1, 3 * flow->noise.spacing);
    const double from = flow->t[first], to = flow->t[last];
    return first < last && to - from < shortest_hold &&
           pump_highest(flow, from - near, from) > strong &&
           pump_highest(flow, to, to + 1) > strong;
}

/* The lowest sample of a dip and the lower one beside it, in the mean: a lone one may be a stray
 * one. */
static double lowest(const shot_channel_view *flow, const pump_dip *d) {
    const double *y = flow->y + d->trough;
    return (y[0] + (d->trough + 1 < flow->n ? fmin(y[-1], y[1]) : y[-1])) / 2;
}

/* The pump stands if the flow is nothing, as far as noise lets tell, while the pressure falls; or
 * next to nothing while half of it goes.  A puck under pressure lets it go when the pump stands
 * (Darcy's law: it drains); one that keeps its pressure is being held by a pump or a line that
 * gives next to nothing.  Where all of it goes, or the flow is cut off for a moment only, next to
 * nothing may be what a slow meter has left to show. */
static pump_state state_in(const pump_gap_search *search, const pump_dip *d, size_t first,
                           size_t last, double top) {
    const shot_channel_view *flow = &search->input->flow, *pressure = &search->input->pressure;
    const double rest = search->flow_rest;
    const size_t partly = last - first >= 4; /* samples in which water ran for a part of the time */
    const size_t edge = (last - first) / 4;  /* in the middle a meter that lags has come to rest */
    double level = 0, n = 0, before = NAN, after = NAN;
    for (size_t i = first + edge; i <= last - edge; i++)
        level += flow->y[i] - rest, n++;
    level /= n;
    /* rounding hides half a step of a mean, and more than one where the noise is less than a step
     */
    const double rounded = flow->step > 0.1 * top ? flow->step / 2 : flow->step;
    double nothing = fmax(3 * flow->noise.sd / sqrt(n), rounded);
    const double nearly_none = fmax(nothing, 0.03 * top);
    bool none = level < nearly_none;
    if (pressure->n < 5)
        return none ? STANDS : RUNS;
    int goes = pressure_goes(pressure, flow->t[first], flow->t[last - partly], &before, &after);
    const bool next_to_nothing = level < 0.15 * top && goes < 0;
    if (before > fmax(pressed, fmax(6 * pressure->noise.sd, 2 * pressure->step))) {
        const bool brief = is_break(search, first, last, top);
        const bool rests = level < 0.15 * top && lowest(flow, d) - rest < nearly_none;
        if (goes < 0 ? level < nothing || (brief && next_to_nothing)
                     : goes == 0 && brief && (level < nothing || rests))
            return STANDS;
        return next_to_nothing && after < pressed ? SEEMS_TO_STAND : RUNS;
    }
    const bool shown = first < last || !is_steep(flow, d, first, last, rest);
    return (none && shown ? goes <= 0 : next_to_nothing) ? STANDS : RUNS;
}

/* The time in which the fall halves what is left, from half of the peak to a quarter: a meter that
 * answers as a first-order lag shows one for as long as it falls.  It lags by no more than a meter
 * may, else the flow declines. */
static double halving_time(const shot_channel_view *flow, const pump_dip *d, size_t first,
                           double rest) {
    const double half = rest + (flow->y[d->peak] - rest) / 2;
    size_t quarter_at = first, half_at;
    while (quarter_at > d->peak && flow->y[quarter_at] < rest + (half - rest) / 2)
        quarter_at--;
    half_at = quarter_at;
    while (half_at > d->peak && flow->y[half_at] < half)
        half_at--;
    quarter_at += quarter_at < first; /* the quarter may lie next to the sample behind it */
    return fmin(flow->t[quarter_at] - flow->t[half_at], pump_longest_lag * log(2));
}

/* Back from the first sample at rest up the fall, as long as the flow was higher by a fifth a tenth
 * of a second before, or a sample, or as long as a figure stands or the fall takes to halve: a flow
 * may decline before it falls. */
static size_t top_of_fall(const shot_channel_view *flow, const pump_dip *d, size_t first,
                          double rest, double depth, double stands) {
    const double span = fmax(fmax(0.1, 1.1 * stands), halving_time(flow, d, first, rest));
    size_t i = first > 0 ? first - 1 : 0;
    for (; i > d->peak && flow->y[i] < flow->y[d->peak] - 0.5 * depth; i--) {
        const size_t then = shot_view_first(flow, flow->t[i] - span);
        const double before = flow->y[then < i ? then : i - 1] - rest;
        if (!(flow->y[i] - rest < 0.8 * before - flow->noise.sd))
            break;
    }
    return i;
}

/* A low stretch that a steep fall and rise leave less time than any pump stands for: stray figures.
 */
static bool is_too_short(const shot_channel_view *flow, const pump_dip *d, size_t first,
                         size_t last, double rest) {
    return flow->t[last + 1] - flow->t[first - 1] < pump_shortest &&
           is_steep(flow, d, first, last, rest);
}

/* Back from the last low sample down the way up, as long as the flow was lower before: a puck that
 * is full takes water slowly at first. */
static size_t foot_of_rise(const shot_channel_view *flow, const pump_dip *d, size_t last) {
    const double span = fmax(0.3, 2 * flow->noise.spacing), *t = flow->t;
    const double clear = 3 * flow->noise.sd * sqrt(2 * flow->noise.spacing / span);
    size_t i = last;
    while (i > d->trough &&
           shot_view_mean(flow, t[i] - span, t[i]) -
                   shot_view_mean(flow, t[i] - 2 * span, nextafter(t[i] - span, -INFINITY)) >
               fmax(clear, flow->step / 4))
        i--;
    return i;
}

/* Down to the first sample at rest, up from the last one. */
static shot_status place_gap(const shot_channel_view *flow, const pump_dip *d, size_t first,
                             size_t last, double rest, double depth, pump_gap *out) {
    const double stands = shot_view_least_stand(flow);
    const size_t before = top_of_fall(flow, d, first, rest, depth, stands);
    shot_instant off, on;
    SHOT_TRY(leaves(flow, stands, flow->y[before], rest, before, first, -1, &off));
    SHOT_TRY(
        leaves(flow, stands, rest, flow->y[d->end], foot_of_rise(flow, d, last), d->end, 1, &on));
    *out = pump_gap_between(flow, off, on, 0, false);
    return SHOT_OK;
}

/* Two gaps with a lone sample between them that shows far less than a pump gives are one. */
shot_status pump_gaps_by_flow(const pump_gap_search *search, pump_gap_list *out) {
    const shot_channel_view *flow = &search->input->flow;
    if (!pump_gap_has_flow(search))
        return SHOT_OK;
    const double rest = search->flow_rest;
    const double top = pump_highest(&search->flow_level, search->from, search->to) - rest;
    const double depth = fmax(0.15 * top, pump_noise_range(flow));
    size_t at = shot_view_first(flow, search->from), end = shot_view_first(flow, search->to);
    size_t ended = 0; /* last sample of the gap before */
    for (pump_dip d; pump_dip_next(flow, end, depth, &at, &d);) {
        size_t first, last;
        low_stretch(flow, &d, rest, top, &first, &last);
        const pump_state state = state_in(search, &d, first, last, top);
        if (state == RUNS || is_too_short(flow, &d, first, last, rest))
            continue;
        pump_gap gap;
        SHOT_TRY(place_gap(flow, &d, first, last, rest, depth, &gap));
        gap.faint = state == SEEMS_TO_STAND;
        if (out->count > 0 && first == ended + 2 && flow->y[ended + 1] - rest < 0.4 * top)
            out->items[out->count - 1].on = gap.on;
        else
            SHOT_TRY(pump_gap_list_add(out, gap));
        ended = last;
    }
    return SHOT_OK;
}
