/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When the pump stands, by the pressure. */
#include <math.h>

#include "detect/pump_gap_search.h"

/* ---- dips ---- */

/* What a puck keeps of its peak at most when the pump stands.  A hand that eases off keeps half of
 * the pressure; a short gap may keep more, but only counts where there is no flow meter to tell, or
 * where the pump is known to have stood before or after, as in a row of pulses. */
static const double half_kept = 0.5, short_kept = 0.7;

/* Does the pressure stay where it fell to?  A puck drains for as long as the pump stands, so that
 * half-way down it turns at once when the pump starts (Darcy's law); one that spends most of the
 * dip in its lowest quarter is held there, as after a controller that shot over. */
static bool stays(const shot_channel_view *p, const pump_dip *d) {
    double low = p->y[d->trough] + 0.25 * (p->y[d->peak] - p->y[d->trough]), within = 0;
    for (size_t i = d->peak + 1; i <= d->end; i++)
        if (p->y[i] <= low)
            within += p->t[i] - p->t[i - 1];
    return within > 0.5 * (p->t[d->end] - p->t[d->peak]);
}

/* A hand that wanders or a controller that settles, and no pump that stands.  `keeps` is what a
 * puck may keep of its peak. */
static bool eases_off(const shot_channel_view *p, const pump_dip *d, double keeps) {
    double share = p->y[d->trough] / p->y[d->peak];
    return share > keeps || (share > half_kept && stays(p, d));
}

/* Where the fall of a dip begins.  A run may decline for long before it ends, as a spring does:
 * then where it bends down.  A puck that drains falls ever more slowly (Darcy's law) and bends
 * nowhere. */
static double fall_begins(const shot_channel_view *p, const pump_dip *d) {
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

/* From when on, but not before `from`, the bend at which the fall begins is looked for: where the
 * pressure stayed near its peak for a while, the one at the end of its rise is another. */
static double bend_from(const shot_channel_view *level, const pump_dip *d, double from) {
    const double near = level->y[d->peak] - 0.2 * (level->y[d->peak] - level->y[d->trough]);
    size_t i = d->peak;
    while (i > 0 && level->t[i - 1] >= from && level->y[i - 1] >= near)
        i--;
    return i + 2 <= d->peak ? level->t[i] : from;
}

/* Where the fall from `high`, which begins at about `about`, leaves its line: between two samples
 * where none lies on the way to half of it; else where the broken line bends, but only by the first
 * half, since a valve that opens lets the pressure go as an exponential does, ever more slowly. */
static shot_status place_fall(const shot_channel_view *p, const pump_dip *d, double from,
                              double about, double until, double high, shot_instant *out) {
    const double lost = high - p->y[d->trough];
    const double near = high - fmax(3 * p->noise.sd, 0.1 * lost);
    size_t i = shot_view_first(p, about);
    while (i < d->trough && p->y[i] > high - lost / 2)
        i++;
    if (i > 0 && p->y[i - 1] > near) {
        *out = (shot_instant){(p->t[i - 1] + p->t[i]) / 2, p->t[i - 1], p->t[i]};
        return SHOT_OK;
    }
    return shot_onset_break(p, from, fmin(until, p->t[i]), about, out);
}

/* Dips are looked for in the level, edges are placed by the samples. */
static shot_status find_dips(const pump_gap_search *search, double keeps, pump_gap_list *out) {
    const shot_channel_view *p = &search->input->pressure, *level = &search->level;
    double top = pump_highest(level, search->from, search->to);
    double depth = fmax(0.06 * top, fmax(6 * level->noise.sd, 2.01 * p->step));
    double reach = fmax(0.25, 3 * p->noise.spacing);
    size_t at = shot_view_first(p, search->from), end = shot_view_first(p, search->to);
    pump_dip d;
    while (pump_dip_next(level, end, depth, &at, &d)) {
        if (eases_off(level, &d, keeps))
            continue;
        double peak = fall_begins(level, &d), trough = p->t[d.trough];
        double half = fmin(reach, (trough - peak) / 2 + p->noise.spacing);
        const double lost = level->y[d.peak] - level->y[d.trough];
        shot_instant off, on;
        const double up = bend_from(level, &d, peak - reach);
        SHOT_TRY(place_fall(p, &d, up, peak, peak + half, level->y[d.peak], &off));
        SHOT_TRY(shot_onset_break(p, trough - half, p->t[d.end], trough, &on));
        SHOT_TRY(pump_gap_list_add(out, pump_gap_between(p, off, on, lost, false)));
    }
    return SHOT_OK;
}

/* Where the pump stood at all, short gaps count too. */
shot_status pump_gaps_by_pressure(const pump_gap_search *search, pump_gap_list *out) {
    const double keeps = pump_gap_has_flow(search) ? half_kept : short_kept;
    if (search->input->pressure.n < 5)
        return SHOT_OK;
    SHOT_TRY(find_dips(search, keeps, out));
    if (out->count == 0 || keeps == short_kept)
        return SHOT_OK;
    out->count = 0;
    return find_dips(search, short_kept, out);
}

/* ---- what the pressure shows by itself ---- */

/* Do swings as deep go on while the pump runs on, and lose little of what the pressure is then?
 * They are the pump's ripple, which a logger of about its rate, or half of it, shows as a slow beat
 * (Shannon 1949, 'Communication in the presence of noise', theorem 1). */
static bool goes_on(const shot_channel_view *level, double lost) {
    enum { MANY = 3 };
    size_t at = 0, count = 0;
    for (pump_dip d; count < MANY && pump_dip_next(level, level->n, 0.6 * lost, &at, &d);)
        count += level->y[d.trough] > short_kept * level->y[d.peak];
    return count == MANY;
}

/* Is the puck's pressure lower in the gap than it was before?  Behind a restrictor the gauge loses
 * K Q^2 wherever the flow eases off, though the puck keeps its pressure. */
static bool puck_drains(const pump_gap_search *search, const pump_gap *gap) {
    const shot_channel_view *p = &search->input->pressure, *q = &search->input->flow;
    const double k = search->restriction, from = gap->off.at, to = gap->on.at;
    double spacing = fmax(p->noise.spacing, q->noise.spacing), half = fmax(0.3, 2 * spacing);
    double early = from - spacing, middle = (from + to) / 2, late = to + spacing;
    double flow_before = shot_view_mean(q, early - half, early);
    double flow_within = shot_view_mean(q, middle, late);
    double lost = k * (flow_before * flow_before - flow_within * flow_within);
    double fall = shot_view_mean(p, early - half, early) - shot_view_mean(p, middle, late);
    double noise = hypot(p->noise.sd, 2 * k * flow_before * q->noise.sd);
    return !(k > 0) || isnan(fall - lost) || fall - lost > 3 * noise;
}

/* A meter that lags shows late what was before, and that it stopped: did the flow lose much of its
 * highest by then? */
static bool lost_late(const pump_gap_search *search, const pump_gap *gap, double half) {
    const shot_channel_view *flow = &search->flow_level;
    const double off = gap->off.at, on = gap->on.at, lag = fmin(pump_longest_lag, on - off);
    const double sure = 2 * flow->noise.sd;
    const double before = pump_highest(flow, off - half, off + lag) - search->flow_rest;
    const double least = pump_lowest(flow, (off + on) / 2, on + lag) - search->flow_rest;
    return least + sure < 0.7 * (before - sure);
}

/* Does the flow say that water ran on through the gap that the pressure shows, as where the flow is
 * controlled and the puck gave way?  It kept most of what it was before until the end. */
static bool water_ran(const pump_gap_search *search, const pump_gap *gap) {
    const shot_channel_view *flow = &search->input->flow;
    if (!pump_gap_has_flow(search))
        return false;
    const double off = gap->off.at, on = gap->on.at, spacing = flow->noise.spacing;
    const double half = fmax(0.5, 2 * spacing), late = fmin((off + on) / 2, on - spacing);
    const double before = shot_view_mean(flow, off - half, off) - search->flow_rest;
    const double level = shot_view_mean(flow, late, on) - search->flow_rest;
    return level > fmax(0.7 * before, 3 * flow->noise.sd) && !lost_late(search, gap, half);
}

/* Is the puck held by a trickle?  A puck under pressure lets it go when the pump stands (Darcy's
 * law); one that keeps it through the second half of the gap, while the flow is clearly more than
 * nothing, is given as much as it lets through. */
static bool is_trickled(const pump_gap_search *search, const pump_gap *gap) {
    static const double pressed = 0.5, least_time = 3, kept = 0.9; /* bar, s; common practice */
    const shot_channel_view *flow = &search->input->flow, *level = &search->level;
    const double middle = (gap->off.at + gap->on.at) / 2, quarter = (gap->on.at - middle) / 2;
    const double late = gap->on.at - fmax(flow->noise.spacing, level->noise.spacing);
    if (!pump_gap_has_flow(search) || 2 * quarter < least_time)
        return false;
    const double early = shot_view_mean(level, middle, middle + quarter);
    const double after = shot_view_mean(level, middle + quarter, late);
    const double runs = shot_view_mean(flow, middle, late) - search->flow_rest;
    const double samples = fmax(1, 2 * quarter / flow->noise.spacing / flow->noise.inflation);
    return after > pressed && after > kept * early &&
           runs > fmax(5 * flow->noise.sd / sqrt(samples), flow->step);
}

bool pump_gap_holds_alone(const pump_gap_search *search, const pump_gap *gap) {
    return !water_ran(search, gap) && !is_trickled(search, gap) &&
           !goes_on(&search->level, gap->lost) && puck_drains(search, gap);
}
