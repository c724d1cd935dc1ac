/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When the pump stands. */
#include "detect/pump_gaps.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "detect/power_onset.h"

typedef struct gap_list {
    pump_gap *items;
    size_t count;
} gap_list;

static shot_status add(gap_list *list, pump_gap gap) {
    pump_gap *grown = realloc(list->items, (list->count + 1) * sizeof *grown);
    if (grown == NULL)
        return SHOT_ERR_MEMORY;
    list->items = grown;
    list->items[list->count++] = gap;
    return SHOT_OK;
}

/* ---- peaks and troughs ---- */

/* A channel falls from a peak to a trough and rises again. */
typedef struct dip {
    size_t peak, trough, end; /* samples: last near the peak, lowest, first near the next peak */
} dip;

static double highest(const shot_channel_view *view, double from, double to) {
    double most = -INFINITY;
    for (size_t i = shot_view_first(view, from); i < view->n && view->t[i] <= to; i++)
        most = fmax(most, view->y[i]);
    return most;
}

/* The next dip from sample *at on that is deeper than `depth` on either side; false at the end.
 * Peaks and troughs by hysteresis: a turn counts when it has gone back by `depth`. */
static bool next_dip(const shot_channel_view *view, size_t end, double depth, size_t *at,
                     dip *out) {
    const double *y = view->y;
    size_t peak = *at, i = *at;
    for (; i < end && !(y[peak] - y[i] > depth); i++)
        if (y[i] >= y[peak])
            peak = i;
    size_t trough = i < end ? i : peak;
    for (; i < end && !(y[i] - y[trough] > depth); i++)
        if (y[i] <= y[trough])
            trough = i;
    if (i >= end)
        return false;
    *out = (dip){peak, trough, i};
    *at = i;
    return true;
}

/* ---- edges ---- */

/* Where the channel leaves `level` for good on its way to the far side, after sample `from` and not
 * after sample `to`: between two samples if it does so at once; else where the line of its way
 * meets the level.  sign 1: rises, -1: falls. */
static shot_status leaves(const shot_channel_view *view, double level, double far, size_t from,
                          size_t to, int sign, shot_instant *out) {
    double slack = fmax(2.5 * view->noise.sd, 0.1 * fabs(far - level));
    size_t last = from; /* the last sample at the level */
    for (size_t i = from; i <= to; i++)
        if (sign * (view->y[i] - level) < slack)
            last = i;
    size_t next = last < to ? last + 1 : to;
    double middle = (level + far) / 2;
    const shot_instant between = {(view->t[last] + view->t[next]) / 2, view->t[last],
                                  view->t[next]};
    *out = between;
    if (sign * (view->y[next] - middle) > 0 || next == to)
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

static pump_gap gap_between(const shot_channel_view *view, shot_instant off, shot_instant on,
                            double lost, bool faint) {
    const double slack = shot_edge_slack(view);
    return (pump_gap){shot_instant_widened(off, slack), shot_instant_widened(on, slack), lost,
                      faint};
}

/* ---- by the flow ---- */

/* The flow at rest, where the log shows it: before the water, else after the last of it. */
static double rest_of(const shot_channel_view *flow, double from) {
    double rest = shot_view_mean(flow, flow->t[0], from - 2 * flow->noise.spacing);
    if (!isnan(rest))
        return rest;
    double low = 0.1 * highest(flow, flow->t[0], flow->t[flow->n - 1]);
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
static void low_stretch(const shot_channel_view *flow, const dip *d, double rest, double top,
                        size_t *first, size_t *last) {
    double low = rest + fmax(0.1 * top, 4 * flow->noise.sd);
    *first = *last = d->trough;
    while (*first > d->peak && flow->y[*first - 1] <= low)
        (*first)--;
    while (*last < d->end && flow->y[*last + 1] <= low)
        (*last)++;
}

/* Does the pressure rise (1) or fall (-1) while the flow is low, or stay (0)?  *before gets what it
 * was, *after what it becomes. */
static int pressure_goes(const shot_channel_view *pressure, double from, double to, double *before,
                         double *after) {
    double half = fmax(0.2, pressure->noise.spacing);
    *before = shot_view_mean(pressure, from - half, from + half);
    *after = shot_view_mean(pressure, fmax(to - half, from), to);
    const double later = shot_view_mean(pressure, fmax(from, fmin(to - half, (from + to) / 2)), to);
    double least = fmax(0.1 * fmax(*before, *after), 3 * pressure->noise.sd);
    double rises = fmax(least, 0.4 * pressure->step); /* a figure that flickers does not rise */
    return *before - *after > least ? -1 : later - *before > rises ? 1 : 0;
}

/* Is the puck's pressure lower between `from` and `to` than it was before?  Behind a restrictor the
 * gauge loses K Q^2 wherever the flow eases off, though the puck keeps its pressure. */
static bool puck_drains(const shot_phase_input *input, double restriction, double from, double to) {
    const shot_channel_view *p = &input->pressure, *q = &input->flow;
    double spacing = fmax(p->noise.spacing, q->noise.spacing), half = fmax(0.3, 2 * spacing);
    double early = from - spacing, middle = (from + to) / 2, late = to + spacing;
    double flow_before = shot_view_mean(q, early - half, early);
    double flow_within = shot_view_mean(q, middle, late);
    double lost = restriction * (flow_before * flow_before - flow_within * flow_within);
    double fall = shot_view_mean(p, early - half, early) - shot_view_mean(p, middle, late);
    double noise = hypot(p->noise.sd, 2 * restriction * flow_before * q->noise.sd);
    return !(restriction > 0) || isnan(fall - lost) || fall - lost > 3 * noise;
}

static const double pressed = 0.5; /* bar: a puck under pressure */

/* What a puck keeps of its peak at most when the pump stands.  A hand that eases off keeps half of
 * the pressure; a short gap may keep more, but only counts where there is no flow meter to tell, or
 * where the pump is known to have stood before or after, as in a row of pulses. */
static const double half_kept = 0.5, short_kept = 0.7;

static double kept(const shot_phase_input *input) {
    return input->flow.n >= 5 ? half_kept : short_kept;
}

typedef enum pump_state { RUNS, SEEMS_TO_STAND, STANDS } pump_state;

/* The pump stands if the flow is nothing, as far as noise lets tell, while the pressure falls; or
 * next to nothing while half of it goes.  A puck under pressure lets it go when the pump stands
 * (Darcy's law: it drains); one that keeps its pressure is being held by a pump or a line that
 * gives next to nothing.  Where all of it goes, next to nothing may be what a slow meter has left
 * to show. */
static pump_state state_in(const shot_phase_input *input, const dip *d, size_t first, size_t last,
                           double rest, double top) {
    const shot_channel_view *flow = &input->flow, *pressure = &input->pressure;
    const size_t partly = last - first >= 4; /* samples in which water ran for a part of the time */
    const size_t edge = (last - first) / 4;  /* in the middle a meter that lags has come to rest */
    double level = 0, n = 0, before = NAN, after = NAN;
    for (size_t i = first + edge; i <= last - edge; i++)
        level += flow->y[i] - rest, n++;
    level /= n;
    double nothing = fmax(3 * flow->noise.sd / sqrt(n), flow->step);
    bool none = level < fmax(nothing, 0.01 * top);
    if (pressure->n < 5)
        return none ? STANDS : RUNS;
    int goes = pressure_goes(pressure, flow->t[first], flow->t[last - partly], &before, &after);
    const bool next_to_nothing = level < 0.15 * top && goes < 0;
    if (before > fmax(pressed, fmax(6 * pressure->noise.sd, 2 * pressure->step))) {
        if (goes < 0 && level < nothing)
            return STANDS;
        return next_to_nothing && after < pressed ? SEEMS_TO_STAND : RUNS;
    }
    const bool lone = first == last; /* may be a spike */
    return (none && !lone ? goes <= 0 : next_to_nothing) ? STANDS : RUNS;
}

/* Back from the first sample at rest up the fall, as long as the flow was higher by a fifth a tenth
 * of a second before, or a sample: a flow may decline before it falls. */
static size_t top_of_fall(const shot_channel_view *flow, const dip *d, size_t first, double rest,
                          double depth) {
    size_t i = first > 0 ? first - 1 : 0;
    for (; i > d->peak && flow->y[i] < flow->y[d->peak] - 0.5 * depth; i--) {
        const size_t then = shot_view_first(flow, flow->t[i] - 0.1);
        const double before = flow->y[then < i ? then : i - 1] - rest;
        if (!(flow->y[i] - rest < 0.8 * before - flow->noise.sd))
            break;
    }
    return i;
}

static shot_status by_flow(const shot_phase_input *input, double from, double to, gap_list *out) {
    const shot_channel_view *flow = &input->flow;
    if (flow->n < 5)
        return SHOT_OK;
    double rest = rest_of(flow, from), top = highest(flow, from, to) - rest;
    double depth = fmax(0.15 * top, 5 * flow->noise.sd);
    size_t at = shot_view_first(flow, from), end = shot_view_first(flow, to);
    dip d;
    while (next_dip(flow, end, depth, &at, &d)) {
        size_t first, last;
        low_stretch(flow, &d, rest, top, &first, &last);
        const pump_state state = state_in(input, &d, first, last, rest, top);
        if (state == RUNS)
            continue;
        /* down to the first sample at rest, up from the last one */
        const size_t before = top_of_fall(flow, &d, first, rest, depth);
        shot_instant off, on;
        SHOT_TRY(leaves(flow, flow->y[before], rest, before, first, -1, &off));
        SHOT_TRY(leaves(flow, rest, flow->y[d.end], last, d.end, 1, &on));
        SHOT_TRY(add(out, gap_between(flow, off, on, 0, state == SEEMS_TO_STAND)));
    }
    return SHOT_OK;
}

/* ---- by the pressure ---- */

/* Does the pressure stay where it fell to?  A puck drains for as long as the pump stands, so that
 * half-way down it turns at once when the pump starts (Darcy's law); one that spends most of the
 * dip in its lowest quarter is held there, as after a controller that shot over. */
static bool stays(const shot_channel_view *p, const dip *d) {
    double low = p->y[d->trough] + 0.25 * (p->y[d->peak] - p->y[d->trough]), within = 0;
    for (size_t i = d->peak + 1; i <= d->end; i++)
        if (p->y[i] <= low)
            within += p->t[i] - p->t[i - 1];
    return within > 0.5 * (p->t[d->end] - p->t[d->peak]);
}

/* A hand that wanders or a controller that settles, and no pump that stands.  `keeps` is what a
 * puck may keep of its peak. */
static bool eases_off(const shot_channel_view *p, const dip *d, double keeps) {
    double share = p->y[d->trough] / p->y[d->peak];
    return share > keeps || (share > half_kept && stays(p, d));
}

/* Where the fall of a dip begins.  A run may decline for long before it ends, as a spring does:
 * then where it bends down.  A puck that drains falls ever more slowly (Darcy's law) and bends
 * nowhere. */
static double fall_begins(const shot_channel_view *p, const dip *d) {
    const double peak = p->t[d->peak], trough = p->t[d->trough], spacing = p->noise.spacing;
    const double window = fmax(1, 3 * spacing);
    const double first = peak + fmax(1.5, 4 * spacing); /* what came before the peak has no part */
    const double bends = shot_onset_steepest_break(p, first, trough);
    const double then = shot_view_mean(p, bends - window / 2, bends);
    const double later = shot_view_mean(p, bends + window / 2, bends + window);
    const double declines = (p->y[d->peak] - then) * window / (bends - peak);
    const double least = (p->y[d->peak] - p->y[d->trough]) / 4;
    return then - later > fmax(2 * declines, least) ? bends : peak;
}

/* Dips are looked for in the `level`, edges are placed by the samples. */
static shot_status by_pressure(const shot_channel_view *p, const shot_channel_view *level,
                               double from, double to, double keeps, gap_list *out) {
    double top = highest(level, from, to), reach = fmax(0.25, 3 * p->noise.spacing);
    double depth = fmax(0.06 * top, fmax(6 * level->noise.sd, 2.01 * p->step));
    size_t at = shot_view_first(p, from), end = shot_view_first(p, to);
    dip d;
    while (next_dip(level, end, depth, &at, &d)) {
        if (eases_off(level, &d, keeps))
            continue;
        double peak = fall_begins(level, &d), trough = p->t[d.trough];
        double half = fmin(reach, (trough - peak) / 2 + p->noise.spacing);
        const double lost = level->y[d.peak] - level->y[d.trough];
        shot_instant off, on;
        SHOT_TRY(shot_onset_break(p, peak - reach, peak + half, peak, &off));
        SHOT_TRY(shot_onset_break(p, trough - half, p->t[d.end], trough, &on));
        SHOT_TRY(add(out, gap_between(p, off, on, lost, false)));
    }
    return SHOT_OK;
}

/* A pump's strokes are no pulses: means over a tenth of a second, five strokes of the mains, or one
 * sample of a slower log. */
static const double strokes = 0.09; /* s, so that one of 0.1 s holds no more samples than it must */

static shot_status stroke_means(const shot_channel_view *p, shot_channel_view *out) {
    SHOT_TRY(shot_view_smooth(p, strokes / 2, out));
    out->noise.sd /= sqrt(fmax(1, strokes / p->noise.spacing / p->noise.inflation));
    return SHOT_OK;
}

/* Do swings as deep go on while the pump runs on, and lose little of what the pressure is then?
 * They are the pump's ripple, which a logger of about its rate, or half of it, shows as a slow beat
 * (Shannon 1949, 'Communication in the presence of noise', theorem 1). */
static bool goes_on(const shot_channel_view *level, double lost) {
    enum { MANY = 3 };
    size_t at = 0, count = 0;
    for (dip d; count < MANY && next_dip(level, level->n, 0.6 * lost, &at, &d);)
        count += level->y[d.trough] > short_kept * level->y[d.peak];
    return count == MANY;
}

/* The gaps by the pressure; where the pump stood at all, short ones too. */
static shot_status all_by_pressure(const shot_phase_input *input, const shot_channel_view *level,
                                   double from, double to, gap_list *out) {
    const shot_channel_view *p = &input->pressure;
    if (p->n < 5)
        return SHOT_OK;
    SHOT_TRY(by_pressure(p, level, from, to, kept(input), out));
    if (out->count == 0 || kept(input) == short_kept)
        return SHOT_OK;
    out->count = 0;
    return by_pressure(p, level, from, to, short_kept, out);
}

/* ---- both ---- */

static bool meet(const pump_gap *a, const pump_gap *b) {
    return a->off.at < b->on.at && b->off.at < a->on.at;
}

static int by_time(const void *a, const void *b) {
    double x = ((const pump_gap *)a)->off.at, y = ((const pump_gap *)b)->off.at;
    return x < y ? -1 : x > y;
}

/* The gap of the list that meets `gap`, the first of `*count`, or NULL. */
static const pump_gap *meeting(const gap_list *list, const pump_gap *gap, size_t *count) {
    const pump_gap *first = NULL;
    *count = 0;
    for (size_t i = 0; i < list->count; i++)
        if (meet(&list->items[i], gap) && (*count)++ == 0)
            first = &list->items[i];
    return first;
}

/* Both channels tell of one gap.  Where they disagree: water may stop before the pump does, since a
 * full puck takes none, but pressure holds only while the pump does; so it stopped at the later
 * sign.  It starts with the flow: pressure must first be built up. */
static pump_gap both(const pump_gap *flow, const pump_gap *pressure) {
    pump_gap gap = *flow;
    if (pressure->off.at > flow->off.at || pressure->off.high >= flow->off.low)
        gap.off = pressure->off.low > flow->off.high
                      ? pressure->off
                      : shot_instant_of_both(&flow->off, &pressure->off);
    if (pressure->on.low <= flow->on.high && flow->on.low <= pressure->on.high)
        gap.on = shot_instant_of_both(&flow->on, &pressure->on);
    return gap;
}

/* One gap by the flow, with the gaps by the pressure that meet it: where there are several, the
 * pressure rose between them, and only a pump that runs makes it do so; but a lone sample does not
 * show that. */
static shot_status add_met(const pump_gap *flow, const pump_gap *pressure, size_t count,
                           double spacing, gap_list *out) {
    if (count == 0)
        return add(out, *flow);
    pump_gap gap = {.off = both(flow, &pressure[0]).off};
    for (size_t i = 0; i + 1 < count; i++) {
        if (pressure[i + 1].off.at - pressure[i].on.at < 1.5 * spacing)
            continue;
        gap.on = pressure[i].on;
        SHOT_TRY(add(out, gap));
        gap.off = pressure[i + 1].off;
    }
    gap.on = both(flow, &pressure[count - 1]).on;
    return add(out, gap);
}

/* Does the flow say that water ran on through the gap that the pressure shows, as where the flow is
 * controlled and the puck gave way?  It kept most of what it was before until the end; a meter that
 * lags shows a stop late. */
static bool water_ran(const shot_channel_view *flow, const pump_gap *gap, double from) {
    if (flow->n < 5)
        return false;
    double rest = rest_of(flow, from), middle = (gap->on.at + gap->off.at) / 2;
    double half = fmax(0.5, 2 * flow->noise.spacing);
    double before = shot_view_mean(flow, gap->off.at - half, gap->off.at) - rest;
    double level =
        shot_view_mean(flow, fmin(middle, gap->on.at - flow->noise.spacing), gap->on.at) - rest;
    return level > fmax(0.7 * before, 3 * flow->noise.sd);
}

/* Does the pressure alone show the gap for good? */
static bool holds_alone(const shot_phase_input *input, const shot_channel_view *level,
                        double restriction, const pump_gap *gap, double from) {
    return !water_ran(&input->flow, gap, from) && !goes_on(level, gap->lost) &&
           puck_drains(input, restriction, gap->off.at, gap->on.at);
}

/* A vibratory pump moves water once in a period of the mains: it was switched off up to a stroke
 * after the last that shows, and on up to a stroke before the first.  50 Hz is the slower of the
 * two that are usual (common practice, no source). */
static void allow_for_strokes(gap_list *gaps) {
    const double stroke = 0.02; /* s */
    for (size_t i = 0; i < gaps->count; i++) {
        gaps->items[i].off.high += stroke;
        gaps->items[i].on.low -= stroke;
    }
}

/* Where the pressure alone shows a gap for good, a meter that is slow or next to nothing places it
 * no better. */
static void prefer_pressure(const shot_phase_input *input, const shot_channel_view *level,
                            double restriction, double from, const gap_list *pressure,
                            gap_list *flow) {
    size_t kept = 0;
    for (size_t i = 0; i < flow->count; i++) {
        size_t meets;
        const pump_gap *other = meeting(pressure, &flow->items[i], &meets);
        if (!flow->items[i].faint || other == NULL ||
            !holds_alone(input, level, restriction, other, from))
            flow->items[kept++] = flow->items[i];
    }
    flow->count = kept;
}

/* A gap that only one channel shows counts too: before the puck is full the pressure shows nothing,
 * and a slow flow meter may miss a short one. */
static shot_status merge(const shot_phase_input *input, const shot_channel_view *level,
                         double restriction, double from, const gap_list *flow,
                         const gap_list *pressure, gap_list *out) {
    size_t meets;
    for (size_t i = 0; i < flow->count; i++) {
        const pump_gap *other = meeting(pressure, &flow->items[i], &meets);
        SHOT_TRY(add_met(&flow->items[i], other, meets, input->pressure.noise.spacing, out));
    }
    for (size_t k = 0; k < pressure->count; k++)
        if (meeting(flow, &pressure->items[k], &meets) == NULL &&
            holds_alone(input, level, restriction, &pressure->items[k], from))
            SHOT_TRY(add(out, pressure->items[k]));
    if (out->count > 0)
        qsort(out->items, out->count, sizeof *out->items, by_time);
    allow_for_strokes(out);
    return SHOT_OK;
}

static shot_status find_gaps(const shot_phase_input *input, double restriction, double from,
                             double to, gap_list *flow, gap_list *pressure, gap_list *out) {
    shot_channel_view level;
    SHOT_TRY(stroke_means(&input->pressure, &level));
    shot_status status = by_flow(input, from, to, flow);
    if (status == SHOT_OK)
        status = all_by_pressure(input, &level, from, to, pressure);
    if (status == SHOT_OK)
        prefer_pressure(input, &level, restriction, from, pressure, flow);
    if (status == SHOT_OK)
        status = merge(input, &level, restriction, from, flow, pressure, out);
    shot_channel_view_free(&level);
    return status;
}

shot_status pump_gaps_find(const shot_phase_input *input, double restriction, double rest,
                           double from, double to, pump_gap **out, size_t *count) {
    gap_list flow = {0}, pressure = {0}, all = {0};
    shot_phase_input over_rest = *input;
    SHOT_TRY(shot_view_copy(&input->pressure, &over_rest.pressure));
    for (size_t i = 0; i < over_rest.pressure.n; i++)
        over_rest.pressure.y[i] -= rest;
    shot_status status = find_gaps(&over_rest, restriction, from, to, &flow, &pressure, &all);
    shot_channel_view_free(&over_rest.pressure);
    free(flow.items);
    free(pressure.items);
    if (status != SHOT_OK) {
        free(all.items);
        all = (gap_list){0};
    }
    *out = all.items;
    *count = all.count;
    return status;
}
