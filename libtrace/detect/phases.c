/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The course of a shot.  Levels are looked for in means of a third of a second, so that a spike is
 * no level; instants are then placed between samples by fits (onset.h). */
#include "detect/phases.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/median.h>
#include <shottrace/signal/straight_line.h>

static const double mean_over = 0.3; /* s: longer than a pump's stroke, shorter than any phase */

/* What noise leaves in a mean over that time, two standard errors. */
static double mean_noise(const shot_channel_view *view) {
    double samples = fmax(1, mean_over / fmax(view->noise.spacing, 1e-9));
    return 2 * view->noise.sd * sqrt(fmin(view->noise.inflation, samples) / samples);
}

static const shot_instant never = {NAN, NAN, NAN};

/* The level around sample i: the mean of the samples within half of mean_over. */
static double level_at(const shot_channel_view *view, size_t i) {
    return shot_view_mean(view, view->t[i] - mean_over / 2, view->t[i] + mean_over / 2);
}

static double highest_level(const shot_channel_view *view, double from, double to) {
    double best = -INFINITY;
    for (size_t i = shot_view_first(view, from); i < view->n && view->t[i] <= to; i++)
        best = fmax(best, level_at(view, i));
    return best;
}

/* ---- leaving the idle level ---- */

/* The level at rest: that of the first half second, or of the last if that is lower, since a log
 * may start when water runs already (a scale never comes back to its first level). */
static double idle_level(const shot_channel_view *view) {
    double start = view->t[0], end = view->t[view->n - 1];
    double first = shot_view_mean(view, start, start + fmax(0.5, 2 * view->noise.spacing));
    double last = shot_view_mean(view, end - fmax(0.5, 2 * view->noise.spacing), end);
    return fmin(first, last);
}

/* The first crossing of the idle level plus what noise and steps can do, or a part of the whole
 * rise; then back along the rise: a flat line and a slope, up to `high` or as far as `reach`
 * seconds. */
static shot_instant leaves_idle(const shot_channel_view *view, double least_part, double high_part,
                                double reach, bool curved) {
    if (view->n == 0)
        return never;
    double end = view->t[view->n - 1];
    double idle = idle_level(view), rise = highest_level(view, view->t[0], end) - idle;
    double noise = fmax(5 * view->noise.sd, 1.01 * view->step);
    if (!(rise > 2 * noise))
        return never;
    double level = idle + fmax(noise, least_part * rise), spacing = view->noise.spacing;
    size_t i = shot_onset_first_beyond(view, view->t[0], end, level, 1, 2 * mean_over);
    if (i == view->n)
        return never;
    double crossed = view->t[i];
    reach = fmax(reach, 4 * spacing);
    size_t top =
        shot_onset_first_beyond(view, crossed, crossed + reach, idle + high_part * rise, 1, 0);
    double before = view->t[i > 0 ? i - 1 : 0];
    if (top <= i + 1) /* a step: between two samples, and no more is known */
        return (shot_instant){(before + crossed) / 2, before, crossed};
    double to = fmin(crossed + reach, top < view->n ? view->t[top] : INFINITY);
    to = fmax(to, crossed + 3 * spacing);
    double from = crossed - fmax(2, 8 * spacing);
    return curved ? shot_onset_curve(view, from, crossed, to)
                  : shot_onset_break(view, from, to, crossed);
}

shot_instant shot_phases_leaves_idle(const shot_channel_view *view) {
    return leaves_idle(view, 0.05, 0.35, 1, false);
}

/* The first drops are a small part of what the scale will show, and come ever faster. */
static shot_instant first_weight(const shot_channel_view *view) {
    return leaves_idle(view, 0, 1, 1, true);
}

/* ---- the pressure at the puck ---- */

/* Behind a restrictor the puck has less than the pump by K Q^2 (orifice: ISO 5167-1, the loss goes
 * with the square of the flow).  While the basket fills the puck has nothing, so that K is p / Q^2
 * there: its median over the time in which flow is within a fifth of its highest. */
double shot_phases_restriction(const shot_phase_input *input) {
    const shot_channel_view *p = &input->pressure, *q = &input->flow;
    double top = highest_level(q, q->t[0], q->t[q->n - 1]), *ratio = malloc(q->n * sizeof *ratio);
    size_t n = 0;
    for (size_t i = 0; ratio != NULL && i < q->n; i++) {
        double level = level_at(q, i);
        if (level < 0.8 * top)
            continue;
        double pressure = shot_view_mean(p, q->t[i] - mean_over / 2, q->t[i] + mean_over / 2);
        if (pressure > 1)
            ratio[n++] = pressure / (level * level);
    }
    double k = n >= 3 ? shot_median(ratio, n) : NAN;
    free(ratio);
    return k;
}

/* Whether the gauge must sit at the pump: for a second and a half or more it stands at six tenths
 * of the highest pressure or more and hardly moves, while the flow is more than two and a half
 * times that of the later brew.  No puck takes so much at that pressure and then so little: it is
 * not yet there. (By Darcy's law flow and pressure at a puck rise and fall together.) */
static bool looks_like_pump_gauge(const shot_phase_input *input) {
    const shot_channel_view *p = &input->pressure, *q = &input->flow;
    if (p->n < 5 || q->n < 5)
        return false;
    double end = p->t[p->n - 1], top = highest_level(p, p->t[0], end), start = NAN, base = 0;
    double middle = p->t[0] + 0.6 * (end - p->t[0]);
    double later = shot_view_mean(q, middle, middle + 3);
    double filling = 0.7 * highest_level(q, q->t[0], q->t[q->n - 1]);
    for (size_t i = 0; i < q->n && q->t[i] < middle; i++) {
        double level = shot_view_mean(p, q->t[i] - mean_over / 2, q->t[i] + mean_over / 2);
        bool both = level >= 0.6 * top && level_at(q, i) > fmax(2.5 * later, filling);
        if (!both || isnan(start) || fabs(level - base) > 0.15 * top) {
            start = both ? q->t[i] : NAN;
            base = level;
        } else if (q->t[i] - start >= 1.5) {
            return true;
        }
    }
    return false;
}

/* The pressure less what the restrictor takes, at the gauge's samples; the same view otherwise. */
static shot_status puck_pressure(const shot_phase_input *input, shot_channel_view *out,
                                 shot_phases *phases) {
    const shot_channel_view *p = &input->pressure;
    *out = *p;
    phases->gauge_guessed = !input->gauge_known && looks_like_pump_gauge(input);
    if (!(input->pump_gauge || phases->gauge_guessed) || input->flow.n < 5)
        return SHOT_OK;
    double k = shot_phases_restriction(input);
    if (!isfinite(k))
        return SHOT_OK;
    out->y = malloc(p->n * sizeof *out->y);
    if (out->y == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < p->n; i++) {
        double q = shot_view_mean(&input->flow, p->t[i] - mean_over / 2, p->t[i] + mean_over / 2);
        out->y[i] = isnan(q) ? p->y[i] : fmax(p->y[i] - k * q * q, 0);
    }
    phases->corrected = true;
    return SHOT_OK;
}

/* ---- the main rise ---- */

/* The main run is the stretch before the end of the brew in which the pressure never falls to a
 * third of what it reaches later in it: a pulse before a gap, however high, does not belong to it.
 */
static double main_run_start(const shot_channel_view *puck, double end, double *top) {
    double start = puck->t[0];
    *top = -INFINITY;
    for (size_t i = shot_view_first(puck, end); i-- > 0;) {
        double level = level_at(puck, i);
        if (level < 0.35 * *top)
            return puck->t[i];
        *top = fmax(*top, level);
    }
    return start;
}

/* The first level of at least 60 % of the highest that the next 3 s do not exceed by more than
 * 3 %: the first main plateau or peak; *at gets its time. */
static double first_plateau(const shot_channel_view *puck, double from, double top, double *at) {
    for (size_t i = shot_view_first(puck, from); i < puck->n; i++) {
        double level = level_at(puck, i);
        if (level < 0.6 * top)
            continue;
        if (highest_level(puck, puck->t[i], puck->t[i] + 3) <= 1.03 * level + mean_noise(puck)) {
            *at = puck->t[i];
            return level;
        }
    }
    *at = NAN;
    return NAN;
}

/* The last time before `until` at which the level was under `level`. */
static double last_under(const shot_channel_view *view, double level, double from, double until) {
    double at = from;
    for (size_t i = shot_view_first(view, from); i < view->n && view->t[i] <= until; i++)
        if (level_at(view, i) < level)
            at = view->t[i];
    return at;
}

/* The level at which the puck is held before the main rise: most of the time between the first half
 * bar and the rise is spent within 0.4 bar or 15 % of the median.  NaN if nothing is held. */
static double held_level(const shot_channel_view *puck, double from, double to) {
    size_t begin = shot_view_first(puck, from), end = shot_view_first(puck, to), near = 0;
    double *sorted = malloc((end > begin ? end - begin : 1) * sizeof *sorted), level = NAN;
    if (sorted != NULL && end - begin >= 4 && to - from >= 2) {
        for (size_t i = begin; i < end; i++)
            sorted[i - begin] = puck->y[i];
        level = shot_median(sorted, end - begin);
        for (size_t i = begin; i < end; i++)
            near += fabs(puck->y[i] - level) <= fmax(0.4, 0.15 * level);
        if (2 * near < end - begin || level < 0.4)
            level = NAN;
    }
    free(sorted);
    return level;
}

/* Start of the main rise: the steep part, a fifth to three fifths of the way up, carried down to
 * the level from which it starts. */
static shot_instant rise_start(const shot_channel_view *puck, double from, double base, double top,
                               double full) {
    double low = last_under(puck, base + 0.2 * (top - base), from, full);
    double high = last_under(puck, base + 0.6 * (top - base), low, full);
    shot_straight_line line;
    double spacing = puck->noise.spacing;
    if (shot_straight_line_fit(puck->t, puck->y, puck->n, low - spacing, high + spacing, &line) !=
            SHOT_OK ||
        !(line.slope > 0))
        return (shot_instant){low, low - spacing, low + spacing};
    double at = line.centre - (line.level - base) / line.slope;
    double se = hypot(line.level_se, line.slope_se * (at - line.centre)) / line.slope;
    double half = fmax(shot_straight_line_half_width(&line, se, 0.95), spacing / 2);
    return (shot_instant){fmax(at, from), at - half, at + half};
}

/* ---- the end ---- */

/* The steepest fall after the plateau that ends under half of what it began with; *half gets the
 * time at which half was lost.  NaN if the pressure never falls so. */
static double final_fall(const shot_channel_view *puck, double from, double *half) {
    *half = NAN;
    for (size_t i = puck->n; i-- > 0 && puck->t[i] > from;) {
        double before = shot_view_mean(puck, puck->t[i] - 3, puck->t[i] - 1);
        if (isnan(before) || before < 1)
            continue;
        if (puck->y[i] >= 0.5 * before) {
            *half = i + 1 < puck->n ? puck->t[i + 1] : NAN;
            return i + 1 < puck->n ? before : NAN;
        }
    }
    return NAN;
}

/* When water stopped: the flow falls under a third of what it was, for good. */
static double water_stops(const shot_channel_view *flow, double until) {
    double usual = shot_view_mean(flow, until - 12, until - 4);
    double at = NAN;
    for (size_t i = shot_view_first(flow, until - 12); flow->n && i < flow->n; i++)
        if (flow->t[i] <= until + 1 && flow->y[i] > usual / 3)
            at = flow->t[i];
    return at;
}

/* The last time before `until` at which the level was at least `level`. */
static double last_over(const shot_channel_view *view, double level, double until) {
    for (size_t i = shot_view_first(view, until); i-- > 0;)
        if (level_at(view, i) >= level)
            return view->t[i];
    return view->t[0];
}

/* Behind a valve the pressure falls at once: where the line of the brew meets the fall. */
static shot_instant sudden_end(const shot_channel_view *puck, double half, double level) {
    double spacing = puck->noise.spacing, reach = fmax(1.5, 6 * spacing);
    double fallen = half - spacing;
    for (size_t i = shot_view_first(puck, half - reach); i < puck->n && puck->t[i] <= half; i++)
        if (puck->y[i] > 0.6 * level)
            fallen = puck->t[i];
    shot_instant found =
        shot_onset_break(puck, half - reach, fmax(fallen, half - spacing) + spacing, fallen);
    return found.at <= half ? found : (shot_instant){fallen, fallen - spacing, half};
}

/* Without a valve the puck lets the pressure go: where its slope falls most; where the flow says
 * when water stopped, near that. */
static shot_instant slow_end(const shot_phase_input *input, const shot_channel_view *puck,
                             double half) {
    double stop = water_stops(&input->flow, half), spacing = puck->noise.spacing;
    double near = fmax(1, 4 * spacing);
    double at = isnan(stop) ? shot_onset_steepest_break(puck, half - 8, half)
                            : shot_onset_steepest_break(puck, stop - near, fmin(half, stop + near));
    if (isnan(at))
        return (shot_instant){half - spacing, half - 8, half};
    shot_instant found = shot_onset_break(puck, at - near, at + near, at);
    return fabs(found.at - at) <= near ? found : (shot_instant){at, at - near, at + near};
}

static void find_end(const shot_phase_input *input, const shot_channel_view *puck,
                     shot_phases *out) {
    double half, level = final_fall(puck, puck->t[0], &half);
    if (isnan(level) || isnan(half))
        return;
    bool sudden = half - last_over(puck, 0.9 * level, half) < 1.2;
    out->pump_off = sudden ? sudden_end(puck, half, level) : slow_end(input, puck, half);
    out->released =
        shot_onset_crossing(puck, out->pump_off.at, puck->t[puck->n - 1], 0.5, -1, mean_over);
}

/* ---- the fill ---- */

/* When water is first shut off before the main rise: the flow falls under a fifth of its first
 * plateau for a third of a second and the puck is not full yet (a full puck stops it too). */
static shot_instant shut_off(const shot_channel_view *flow, double from, double to) {
    double top = highest_level(flow, from, fmin(from + 3, to));
    if (flow->n < 5 || !(top > 0.5))
        return never;
    return shot_onset_crossing(flow, from + mean_over, to, 0.2 * top, -1, mean_over);
}

/* The same without a flow meter: the pressure has a first peak of half a bar or more and loses four
 * tenths of it before the main rise. */
static shot_instant pressure_lets_go(const shot_channel_view *puck, double from, double to) {
    double peak = 0.5, at = NAN, spacing = puck->noise.spacing;
    for (size_t i = shot_view_first(puck, from); i < puck->n && puck->t[i] < to; i++) {
        double level = level_at(puck, i);
        if (level > peak) {
            peak = level;
            at = puck->t[i];
        } else if (!isnan(at) && level < 0.6 * peak) {
            return (shot_instant){at, at - mean_over / 2 - spacing, at + mean_over / 2 + spacing};
        }
    }
    return never;
}

/* Water is first shut off; or half of a held level is reached; or half a bar where nothing is held
 * (docs/format.md). A full puck under a held pressure stops the flow too: then the half level came
 * before. */
static void find_fill(const shot_phase_input *input, const shot_channel_view *puck, double held,
                      shot_phases *out) {
    double from = out->water_in.at, to = out->rise.at;
    shot_instant off =
        input->flow.n >= 5 ? shut_off(&input->flow, from, to) : pressure_lets_go(puck, from, to);
    double level = isnan(held) ? 0.5 : held / 2;
    shot_instant reached = shot_onset_crossing(puck, from, out->full.at, level, 1, mean_over);
    bool shut = !isnan(off.at) && (isnan(held) || isnan(reached.at) || off.at < reached.at);
    out->fill_end = shut ? off : reached;
    if (out->fill_end.at < from) /* water and level show in the same samples */
        out->fill_end = (shot_instant){from, from, fmax(out->fill_end.high, from)};
    out->held = !isnan(held) || shut;
}

/* ---- the whole ---- */

static void find_water(const shot_phase_input *input, const shot_channel_view *puck,
                       shot_phases *out) {
    out->water_in = shot_phases_leaves_idle(&input->flow);
    if (!isnan(out->water_in.at))
        return;
    out->water_in = shot_phases_leaves_idle(puck);
    out->from_pressure = !isnan(out->water_in.at);
    if (out->from_pressure) /* the basket took water before it showed: as long as fills take */
        out->water_in.low = fmax(puck->t[0], out->water_in.at - 8);
}

static void find_from_pressure(const shot_phase_input *input, const shot_channel_view *puck,
                               shot_phases *out) {
    double top = highest_level(puck, puck->t[0], puck->t[puck->n - 1]), plateau_at;
    double idle = fmin(idle_level(puck), 0.5);
    if (!(top - idle > fmax(1, 3 * puck->noise.sd)))
        return;
    find_water(input, puck, out);
    find_end(input, puck, out);
    double end = isnan(out->pump_off.at) ? puck->t[puck->n - 1] : out->pump_off.at;
    double run = main_run_start(puck, end, &top);
    double plateau = first_plateau(puck, run, top, &plateau_at);
    if (isnan(plateau) || isnan(out->water_in.at))
        return;
    double from = fmax(run, out->water_in.at);
    out->full = shot_onset_crossing(puck, from, plateau_at + 1, 0.95 * plateau, 1, mean_over);
    if (isnan(out->full.at))
        return;
    double first = last_under(puck, 0.3, out->water_in.at, out->full.at);
    shot_instant half_bar =
        shot_onset_crossing(puck, out->water_in.at, out->full.at, 0.3, 1, mean_over);
    first = isnan(half_bar.at) ? first : half_bar.at;
    double steep = last_under(puck, 0.6 * plateau, out->water_in.at, out->full.at);
    double held = held_level(puck, first, steep);
    double base = isnan(held) ? 0 : held;
    out->rise = rise_start(puck, out->water_in.at, base, plateau, out->full.at);
    find_fill(input, puck, held, out);
}

/* Drops fall and scales smooth: the weight shows up to so much later.  Common practice, no source.
 */
static const double most_lag = 0.8; /* s */

static void find_drip(const shot_phase_input *input, shot_phases *out) {
    shot_instant seen =
        input->weight.n ? first_weight(&input->weight) : shot_phases_leaves_idle(&input->outflow);
    double lag = isnan(input->scale_lag) ? 0 : input->scale_lag;
    double unknown = isnan(input->scale_lag) ? most_lag : 0;
    out->first_drip = (shot_instant){seen.at - lag, seen.low - lag - unknown, seen.high - lag};
}

/* Without pressure: when water went in is all that the flow can tell. */
shot_status shot_phases_find(const shot_phase_input *input, shot_phases *out) {
    *out = (shot_phases){.water_in = never,
                         .fill_end = never,
                         .rise = never,
                         .full = never,
                         .pump_off = never,
                         .released = never,
                         .first_drip = never};
    if (input->pressure.n >= 5) {
        shot_channel_view puck;
        SHOT_TRY(puck_pressure(input, &puck, out));
        find_from_pressure(input, &puck, out);
        if (out->corrected)
            free(puck.y);
    } else {
        out->water_in = shot_phases_leaves_idle(&input->flow);
    }
    find_drip(input, out);
    return SHOT_OK;
}
