/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When the pump stands: what flow and pressure tell, brought together. */
#include "detect/pump_gaps.h"

#include <math.h>
#include <stdlib.h>

#include "detect/fresh_values.h"
#include "detect/pump_gap_search.h"

shot_status pump_gap_list_add(pump_gap_list *list, pump_gap gap) {
    pump_gap *grown = realloc(list->items, (list->count + 1) * sizeof *grown);
    if (grown == NULL)
        return SHOT_ERR_MEMORY;
    list->items = grown;
    list->items[list->count++] = gap;
    return SHOT_OK;
}

pump_gap pump_gap_between(const shot_channel_view *view, shot_instant off, shot_instant on,
                          double lost, bool faint) {
    const double slack = shot_edge_slack(view);
    return (pump_gap){shot_instant_widened(off, slack), shot_instant_widened(on, slack), lost,
                      faint};
}

static bool meet(const pump_gap *a, const pump_gap *b) {
    return a->off.at < b->on.at && b->off.at < a->on.at;
}

static int by_time(const void *a, const void *b) {
    double x = ((const pump_gap *)a)->off.at, y = ((const pump_gap *)b)->off.at;
    return x < y ? -1 : x > y;
}

/* The gap of the list that meets `gap`, the first of `*count`, or NULL. */
static const pump_gap *meeting(const pump_gap_list *list, const pump_gap *gap, size_t *count) {
    const pump_gap *first = NULL;
    *count = 0;
    for (size_t i = 0; i < list->count; i++)
        if (meet(&list->items[i], gap) && (*count)++ == 0)
            first = &list->items[i];
    return first;
}

/* When the pump stopped, where both channels tell of one gap.  Where they disagree: water may stop
 * before the pump does, since a full puck takes none, but pressure holds only while the pump does;
 * so it stopped at the later sign.  But a meter may lag: where the flow stops shortly after the
 * pressure falls, it stopped between the two. */
static shot_instant stopped(const shot_instant *flow, const shot_instant *pressure) {
    if (pressure->low > flow->high)
        return *pressure;
    if (pressure->at > flow->at || pressure->high >= flow->low)
        return shot_instant_of_both(flow, pressure);
    if (flow->at - pressure->at < pump_longest_lag)
        return (shot_instant){(pressure->at + flow->at) / 2, pressure->low, flow->high};
    return *flow;
}

/* When it started: with the flow, since pressure must first be built up.  Where pressure shows
 * before a meter that lags, both tell; where it shows while a slow one still counts, the pump had
 * started. */
static shot_instant started(const shot_instant *flow, const shot_instant *pressure) {
    if (pressure->low > flow->high || flow->low > pressure->high)
        return *flow;
    if (pressure->at < flow->at)
        return shot_instant_of_both(flow, pressure);
    return (shot_instant){flow->at, flow->low, fmin(flow->high, fmax(pressure->high, flow->at))};
}

/* One gap by the flow, with the gaps by the pressure that meet it: where there are several, the
 * pressure rose between them, and only a pump that runs makes it do so; but a lone sample does not
 * show that. */
static shot_status add_met(const pump_gap *flow, const pump_gap *pressure, size_t count,
                           double spacing, pump_gap_list *out) {
    if (count == 0)
        return pump_gap_list_add(out, *flow);
    pump_gap gap = {.off = stopped(&flow->off, &pressure[0].off)};
    for (size_t i = 0; i + 1 < count; i++) {
        if (pressure[i + 1].off.at - pressure[i].on.at < 1.5 * spacing)
            continue;
        gap.on = pressure[i].on;
        SHOT_TRY(pump_gap_list_add(out, gap));
        gap.off = pressure[i + 1].off;
    }
    gap.on = started(&flow->on, &pressure[count - 1].on);
    return pump_gap_list_add(out, gap);
}

/* A vibratory pump moves water once in a period of the mains: it was switched off up to a stroke
 * after the last that shows, and on up to a stroke before the first.  50 Hz is the slower of the
 * two that are usual (common practice, no source). */
static void allow_for_strokes(pump_gap_list *gaps) {
    const double stroke = 0.02; /* s */
    for (size_t i = 0; i < gaps->count; i++) {
        gaps->items[i].off.high += stroke;
        gaps->items[i].on.low -= stroke;
    }
}

/* Where the pressure alone shows a gap for good, a meter that is slow or next to nothing places it
 * no better. */
static void prefer_pressure(const pump_gap_search *search, const pump_gap_list *pressure,
                            pump_gap_list *flow) {
    size_t kept = 0;
    for (size_t i = 0; i < flow->count; i++) {
        size_t meets;
        const pump_gap *other = meeting(pressure, &flow->items[i], &meets);
        if (!flow->items[i].faint || other == NULL || !pump_gap_holds_alone(search, other))
            flow->items[kept++] = flow->items[i];
    }
    flow->count = kept;
}

/* A gap that only one channel shows counts too: before the puck is full the pressure shows nothing,
 * and a slow flow meter may miss a short one. */
static shot_status merge(const pump_gap_search *search, const pump_gap_list *flow,
                         const pump_gap_list *pressure, pump_gap_list *out) {
    const double spacing = search->input->pressure.noise.spacing;
    size_t meets;
    for (size_t i = 0; i < flow->count; i++) {
        const pump_gap *other = meeting(pressure, &flow->items[i], &meets);
        SHOT_TRY(add_met(&flow->items[i], other, meets, spacing, out));
    }
    for (size_t k = 0; k < pressure->count; k++)
        if (meeting(flow, &pressure->items[k], &meets) == NULL &&
            pump_gap_holds_alone(search, &pressure->items[k]))
            SHOT_TRY(pump_gap_list_add(out, pressure->items[k]));
    if (out->count > 0)
        qsort(out->items, out->count, sizeof *out->items, by_time);
    allow_for_strokes(out);
    return SHOT_OK;
}

/* Does the meter show clearly less than a twentieth of its highest flow, or nothing, from..to? */
static bool is_dry(const pump_gap_search *search, double from, double to) {
    static const double little = 0.05; /* common practice, no source */
    const shot_channel_view *flow = &search->input->flow;
    const double n = (to - from) / flow->noise.spacing;
    const double sd = flow->noise.sd * sqrt(flow->noise.inflation / fmax(1, n));
    const double top = pump_highest(&search->flow_level, search->from, search->to);
    const double runs = shot_view_mean(flow, from, to) - search->flow_rest;
    return !(runs > fmax(4 * sd, little * (top - search->flow_rest))); /* nor where no row is */
}

/* Is the run between two gaps none?  Where the meter shows water stop in the gaps, and none in the
 * run either, nor a moment later as one that is slow does, and the pressure rises by no more than
 * noise, it is noise of a soak. */
static bool is_idle(const pump_gap_search *search, const pump_gap *gap, const pump_gap *next) {
    const shot_channel_view *level = &search->level;
    const double on = gap->on.at, off = next->off.at;
    if (!pump_gap_has_flow(search))
        return false;
    const double late = fmax(pump_longest_lag, 1.1 * shot_view_least_stand(&search->input->flow));
    const double rises = pump_highest(level, on, off) - pump_lowest(level, gap->off.at, on);
    return is_dry(search, (gap->off.at + on) / 2, on) && is_dry(search, on, off + late) &&
           !(rises > pump_noise_range(level));
}

/* Gaps without a run between them are one: the second began before the first was over, as where
 * either channel shows an edge that the other does not, or it is idle. */
static void join_runless(const pump_gap_search *search, pump_gap_list *gaps) {
    size_t kept = 0;
    for (size_t i = 0; i < gaps->count; i++) {
        pump_gap *last = kept > 0 ? &gaps->items[kept - 1] : NULL;
        const pump_gap *next = &gaps->items[i];
        const bool overlap = last != NULL && next->off.at <= last->on.at;
        if (overlap || (last != NULL && is_idle(search, last, next)))
            last->on = next->on.at > last->on.at ? next->on : last->on;
        else
            gaps->items[kept++] = *next;
    }
    gaps->count = kept;
}

static shot_status find_gaps(const pump_gap_search *search, pump_gap_list *out) {
    pump_gap_list flow = {0}, pressure = {0};
    shot_status status = pump_gaps_by_flow(search, &flow);
    if (status == SHOT_OK)
        status = pump_gaps_by_pressure(search, &pressure);
    if (status == SHOT_OK) {
        prefer_pressure(search, &pressure, &flow);
        status = merge(search, &flow, &pressure, out);
        join_runless(search, out);
    }
    free(flow.items);
    free(pressure.items);
    return status;
}

/* Means of both channels, and what the meter shows at rest. */
static shot_status take_levels(pump_gap_search *search) {
    const shot_channel_view *flow = &search->input->flow;
    SHOT_TRY(pump_stroke_means(&search->input->pressure, &search->level));
    if (flow->n < 5)
        return SHOT_OK;
    SHOT_TRY(pump_stroke_means(flow, &search->flow_level));
    search->flow_rest = pump_flow_at_rest(flow, search->from);
    return SHOT_OK;
}

/* Pressure over the rest of the gauge, and a flow that no stray figure takes far below nothing. */
static shot_status take_channels(const shot_phase_input *input, double rest, double from,
                                 shot_phase_input *out) {
    *out = *input;
    out->pressure = out->flow =
        (shot_channel_view){0}; /* not the lists of the input, if one fails */
    SHOT_TRY(shot_view_copy(&input->pressure, &out->pressure));
    for (size_t i = 0; i < out->pressure.n; i++)
        out->pressure.y[i] -= rest;
    SHOT_TRY(shot_view_copy(&input->flow, &out->flow));
    const double least =
        out->flow.n > 0 ? pump_flow_at_rest(&input->flow, from) - 3 * out->flow.noise.sd : 0;
    for (size_t i = 0; i < out->flow.n; i++)
        out->flow.y[i] = fmax(out->flow.y[i], least);
    return SHOT_OK;
}

shot_status pump_gaps_find(const shot_phase_input *input, double restriction, double rest,
                           double from, double to, pump_gap **out, size_t *count) {
    pump_gap_list all = {0};
    shot_phase_input own;
    pump_gap_search search = {.input = &own, .restriction = restriction, .from = from, .to = to};
    shot_status status = take_channels(input, rest, from, &own);
    if (status == SHOT_OK)
        status = take_levels(&search);
    if (status == SHOT_OK)
        status = find_gaps(&search, &all);
    shot_channel_view_free(&search.flow_level);
    shot_channel_view_free(&search.level);
    shot_channel_view_free(&own.pressure);
    shot_channel_view_free(&own.flow);
    if (status != SHOT_OK) {
        free(all.items);
        all = (pump_gap_list){0};
    }
    *out = all.items;
    *count = all.count;
    return status;
}
