/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The main rise: where it starts, where it ends, and what came before it. */
#include <math.h>
#include <stdlib.h>

#include "detect/brew_pause.h"
#include "detect/brewing.h"
#include "detect/course.h"
#include "detect/flush.h"
#include "detect/main_run.h"
#include "detect/power_onset.h"
#include "detect/pump_gaps.h"

/* More of that definition (detect/brewing.h). */
static const double level_excess = 1.03;
static const double shortest_brew = 1; /* s: what a line keeps when water stops is gone by then */
static const double pause_share = 1.0 / 3; /* of how fast it rises: common practice, no source */
static const double gentle = 0.2; /* of the way that is fitted, by which a pump may start gently */

static double highest_over(const shot_channel_view *level, size_t i, double seconds) {
    double top = level->y[i];
    for (size_t k = i; k < level->n && level->t[k] <= level->t[i] + seconds; k++)
        top = fmax(top, level->y[k]);
    return top;
}

/* The first level from `from` on, of at least `high`, that the next `seconds` do not exceed by more
 * than 3 %, and `slack`, over rest. */
static double first_level(const shot_course *course, double from, double high, double seconds,
                          double slack, double *at) {
    const shot_channel_view *level = &course->level;
    for (size_t i = shot_view_first(level, from); i < level->n; i++) {
        double here = level->y[i] - course->rest;
        if (here < high ||
            highest_over(level, i, seconds) - course->rest > level_excess * here + slack)
            continue;
        *at = level->t[i];
        return here;
    }
    *at = NAN;
    return NAN;
}

static double first_plateau(const shot_course *course, double from, double seconds, double slack,
                            double *at) {
    const double high = shot_main_share * (course->top - course->rest);
    return first_level(course, from, high, seconds, slack, at);
}

static double foot_span(const shot_course *course) {
    return fmax(0.5, 2 * course->level.noise.spacing);
}

/* How a rise looks from its end backwards: by how much the level gains in the time of a foot, at
 * the most and then at the least, and where that was. */
typedef struct descent {
    double most, least, least_t;
} descent;

static void follow(descent *down, double t, double gain) {
    if (gain > down->most && !(down->least < pause_share * down->most))
        *down = (descent){gain, gain, t};
    else if (gain < down->least)
        down->least = gain, down->least_t = t;
}

/* A puck that fills up to a level comes to it ever more slowly, and one that the pump takes from
 * there rises faster again: between both it was held, though never at rest. */
static bool has_paused(const descent *down, double gain, double noise) {
    return down->least < pause_share * down->most && down->least < pause_share * gain &&
           gain - down->least > 6 * noise;
}

/* Walk back from `until` as long as the pressure was lower before: to the foot of the rise.  What
 * rises by less than a fiftieth of the plateau in half a second is no main rise; but at a level
 * that could be a main plateau the puck is not pre-wetted, and a rise that pauses there goes on. */
static double foot(const shot_course *course, double from, double until, double plateau) {
    const shot_channel_view *level = &course->level;
    const double span = foot_span(course);
    const double main_level =
        course->rest + shot_main_share * fmax(plateau, course->top - course->rest);
    double least = fmax(0.04 * span * plateau, 3 * course->level_se);
    double t = until;
    descent down = {0, 0, until};
    for (size_t i = shot_view_first(level, until); i-- > 0 && level->t[i] > from;) {
        t = level->t[i];
        const double gain = level->y[i] - shot_view_at(level, fmax(from, t - span));
        if (level->y[i] < main_level && gain < least)
            break;
        if (level->y[i] < main_level)
            follow(&down, t, gain);
        if (has_paused(&down, gain, course->level_se)) {
            t = down.least_t;
            break;
        }
    }
    return fmax(from, t - span / 2);
}

/* The start of the rise between samples, not before `earliest`: the level before it, since `stood`,
 * which may slope, and the way up to two fifths. */
static shot_status rise_start(const shot_course *course, double stood, double earliest, double at,
                              double full, shot_instant *out) {
    const shot_channel_view *puck = &course->puck;
    double base = shot_view_at(&course->level, at), top = shot_view_at(&course->level, full);
    double spacing = puck->noise.spacing, goal = base + 0.4 * (top - base), end = full;
    for (size_t i = shot_view_first(puck, at); i < puck->n && puck->t[i] < full + spacing; i++)
        if (puck->y[i] > goal) {
            end = puck->t[i];
            break;
        }
    double before = fmax(stood, at - fmax(1.5, 5 * spacing));
    shot_power_rule rule = {.from = before,
                            .to = end,
                            .earliest = fmax(earliest, at - 1 - spacing),
                            .latest = end,
                            .level = base,
                            .level_sd = INFINITY,
                            .sloped = true,
                            .sign = 1,
                            .powers = 3};
    SHOT_TRY(shot_power_onset(puck, &rule, out));
    const double slack = hypot(shot_edge_slack(puck), gentle * fmax(0, end - out->at));
    *out = isnan(out->at) ? (shot_instant){at, at - spacing, at + spacing}
                          : shot_instant_widened(*out, slack);
    return SHOT_OK;
}

/* SD of what a restrictor takes at the crossing of a share of a level, and at the level. */
static double loss_off(const shot_course *course, double at, double level) {
    const shot_channel_view *flow = &course->input->flow;
    return hypot(shot_restrictor_loss_sd(&course->restrictor, flow, at),
                 shot_full_share * shot_restrictor_loss_sd(&course->restrictor, flow, level));
}

/* The level is the mean of some samples; how far it may be off widens the instant at which a share
 * of it is crossed. */
static shot_instant reach_full(const shot_course *course, double from, double to, double plateau) {
    const shot_channel_view *puck = &course->puck;
    double goal = course->rest + shot_full_share * plateau, spacing = puck->noise.spacing;
    shot_instant found = shot_onset_crossing(puck, from, to + spacing, goal, 1, 0.3);
    const double around = shot_longest_mean / 2 + spacing;
    if (isnan(found.at)) /* a peak shorter than that: the samples that the level is the mean of */
        found = shot_onset_crossing(puck, fmax(from, to - around), to + around, goal, 1, 0);
    if (isnan(found.at))
        return found;
    double half = fmax(0.15, spacing);
    double slope = (shot_view_at(&course->level, found.at + half) -
                    shot_view_at(&course->level, found.at - half)) /
                   (2 * half);
    const double lost = loss_off(course, found.at, to);
    double off =
        fmax(hypot(0.002 * plateau, lost), puck->noise.sd / 2) / fmax(slope, 0.02 * plateau);
    double low = hypot(found.at - found.low, 1.96 * off);
    double high = hypot(found.high - found.at, 1.96 * off);
    return (shot_instant){found.at, found.at - low - spacing / 4, found.at + high + spacing / 4};
}

/* ---- what came before ---- */

/* What the puck is held at when the main rise starts: before it, so that the rise has no part. */
static double held_level(const shot_course *course, const shot_instant *rise) {
    const shot_channel_view *puck = &course->puck;
    double until = fmin(rise->at, rise->low), span = fmax(0.5, 2 * puck->noise.spacing);
    double mean = shot_view_mean(puck, until - span, until);
    return (isnan(mean) ? shot_view_at(&course->level, rise->at) : mean) - course->rest;
}

/* The first level at which the puck is held wet on its way to that of `held`, by the same rule as a
 * plateau: clearly less, left before the main rise starts, and half of it is pressure.  `held`
 * where there is none. */
static double first_held(const shot_course *course, const shot_phases *out, double held,
                         double lost) {
    static const double clearly_less = 0.75; /* common practice, no source */
    const double slack = fmax(2 * course->level_se, course->input->pressure.step / 2);
    const double least = 2 * shot_no_pressure + slack + 2 * lost;
    double at;
    const double first =
        first_level(course, out->water_in.at, least, shot_level_seconds, slack, &at);
    const bool left = at + shot_level_seconds < out->rise.at && first < clearly_less * held;
    return left ? first : held;
}

/* Where the puck first comes over `goal` and, where nothing is held, does not fall back: behind a
 * restrictor noise of the flow is noise of the pressure at the puck, and looks like pressure. */
static shot_instant filled(const shot_course *course, const shot_phases *out, double goal) {
    const shot_channel_view *level = &course->level;
    double from = out->water_in.at, until = out->full.at;
    for (size_t i = shot_view_first(level, until); !out->held && i-- > 0 && level->t[i] > from;)
        if (level->y[i] < goal) {
            from = level->t[i];
            break;
        }
    from = fmax(out->water_in.at, from - 0.15 - level->noise.spacing);
    return shot_onset_crossing(&course->puck, from, until + course->puck.noise.spacing, goal, 1,
                               0.3);
}

/* Is that a level at which the puck is held wet?  Where no meter tells whether water still runs in,
 * it is more than no pressure by more than its step and its noise leave open. */
static bool is_pressure(const shot_course *course, double held) {
    const bool meter = course->flow_level.n > 0;
    const double off = course->input->pressure.step / 2 + 2 * course->level_se;
    return held - (meter ? 0 : off) >= shot_no_pressure;
}

/* A held puck is shut off or takes a trickle.  Does water run on to the rise as it did before,
 * while half of the level is no pressure yet?  Then the gauge creeps up while the basket fills. */
static bool still_fills(const shot_course *course, const shot_phases *out, double held) {
    const shot_channel_view *flow = &course->flow_level;
    const double rest = course->flow_rest;
    if (held / 2 >= shot_no_pressure || flow->n == 0 || out->from_pressure)
        return false;
    const double shown = filled(course, out, course->rest + held / 2).at;
    const double until = fmax(shown, out->water_in.at + foot_span(course));
    const double before = shot_view_mean(flow, out->water_in.at, until) - rest;
    return shot_view_mean(flow, shown, out->rise.at) - rest > 0.75 * before;
}

/* s by which what a restrictor takes may shift the instant at which the puck crosses a level. */
static double loss_time(const shot_course *course, double at) {
    const double sd = shot_restrictor_loss_sd(&course->restrictor, &course->input->flow, at);
    const double half = fmax(0.15, course->level.noise.spacing);
    const double rise =
        shot_view_at(&course->level, at + half) - shot_view_at(&course->level, at - half);
    return sd > 0 ? 1.96 * sd * 2 * half / fmax(rise, sd) : 0;
}

/* A gauge at the pump may show its pressure while the basket fills, and no meter tells for how
 * long. */
static bool shows_before_puck(const shot_course *course) {
    return course->input->pump_gauge && course->input->flow.n == 0;
}

static void find_fill(const shot_course *course, const pump_gap *gaps, size_t count,
                      shot_phases *out) {
    double held = held_level(course, &out->rise);
    if (count > 0 && gaps[0].off.at < out->rise.at) {
        out->fill_end = gaps[0].off;
        if (out->from_pressure && !course->input->pump_gauge)
            out->fill_end.low = fmin(out->fill_end.low, out->water_in.low); /* it may have been shut
                                                         off while the puck had no pressure yet */
        out->held = true;
        return;
    }
    const double lost =
        shot_restrictor_loss_sd(&course->restrictor, &course->input->flow, out->rise.at);
    out->held = is_pressure(course, held - 2 * lost) && out->rise.at > out->water_in.at &&
                !still_fills(course, out, held);
    const double wet = out->held ? first_held(course, out, held, lost) / 2 : shot_no_pressure;
    const double goal = course->rest + wet;
    const shot_instant crossed = filled(course, out, goal);
    const shot_instant shown = shot_instant_widened(
        crossed, hypot(shot_edge_slack(&course->puck), loss_time(course, crossed.at)));
    out->fill_end = shot_instant_not_before(
        shot_instant_shown_late(shown, course->input->gauge_lag), out->water_in.at);
    out->fill_by_level = true;
    const double begins = course->puck.t[0];
    const double first = course->puck.y[0] < goal ? begins : begins - shot_longest_fill;
    out->fill_end.low = fmax(out->fill_end.low, fmax(first, out->water_in.low));
    if (shows_before_puck(course))
        out->fill_end.high = fmax(out->fill_end.high, out->fill_end.at + shot_longest_fill);
    out->fill_end.high = fmin(out->fill_end.high, fmax(out->full.at, out->full.high));
    if (out->late && course->restrictor.k > 0 && !course->input->pump_gauge)
        out->fill_end.low = fmin(out->fill_end.low, begins - shot_longest_fill);
    if (!out->held || isnan(out->fill_end.at) || out->fill_end.at > out->rise.at)
        out->rise = out->fill_end;
}

/* A log that ends before it has shown a level for as long as a plateau must not be exceeded may end
 * before the pressure rose on. */
static shot_instant till_it_ends(const shot_course *course, double at, shot_instant full) {
    const shot_channel_view *level = &course->level;
    const double end = level->t[level->n - 1];
    const bool pressed = end - shot_course_last_pressed(course) < 1.5 * level->noise.spacing;
    if (pressed && end - at < shot_level_seconds)
        full.high = fmax(full.high, end);
    return full;
}

static shot_instant till_it_fills(const shot_course *course, shot_instant full) {
    const shot_phase_input *input = course->input;
    if (shows_before_puck(course) && isnan(shot_phase_known(input, SHOT_FULL).at))
        full.high =
            fmax(full.high, fmin(full.at + shot_longest_fill, shot_course_last_pressed(course)));
    return full;
}

/* When 95 % of the plateau are reached that the pressure shows at `at`. */
static shot_instant reach_plateau(const shot_course *course, double start, double at,
                                  double plateau) {
    return shot_course_shown_late(course, reach_full(course, start, at, plateau),
                                  1 - shot_full_share);
}

/* A pause of about 3 s on the way up is a plateau or not, as the ends of means and noise have it:
 * the interval holds both. */
static shot_instant or_the_other(const shot_course *course, double start, double plateau,
                                 shot_instant full) {
    const double spacing = course->level.noise.spacing, ends = course->level_length + spacing;
    const double seconds = shot_level_seconds, noise = 2 * course->level_se;
    double at;
    const double early = first_plateau(course, start, seconds - ends, noise, &at);
    if (level_excess * early + noise < plateau)
        full.low = fmin(full.low, reach_plateau(course, start, at, early).low);
    const double late = first_plateau(course, start, seconds + spacing, 0, &at);
    if (late > level_excess * plateau + noise)
        full.high = fmax(full.high, reach_plateau(course, start, at, late).high);
    return full;
}

/* When the brewing pressure is reached, and the level of that; NaN where it cannot be known. */
static shot_instant find_full(const shot_course *course, double start, double *plateau,
                              bool *unfinished) {
    const shot_instant never = {NAN, NAN, NAN}, marked = shot_phase_known(course->input, SHOT_FULL);
    shot_instant full = never;
    double at;
    *plateau = first_plateau(course, start, shot_level_seconds, 2 * course->level_se, &at);
    if (!isnan(marked.at)) {
        *plateau = (shot_view_at(&course->level, marked.at) - course->rest) / shot_full_share;
        return marked;
    }
    *unfinished = course->level.t[course->level.n - 1] - at < shot_level_seconds / 3;
    if (*unfinished)
        return never; /* nobody knows how far it would have risen */
    if (!isnan(*plateau))
        full = or_the_other(course, start, *plateau,
                            till_it_ends(course, at, reach_plateau(course, start, at, *plateau)));
    return shot_course_last_pressed(course) - full.at < shortest_brew ? never : full;
}

/* What a person marked of the fill and the rise. */
static void take_marked(const shot_course *course, shot_phases *out) {
    const shot_instant fill_end = shot_phase_known(course->input, SHOT_FILL_END);
    const shot_instant rise = shot_phase_known(course->input, SHOT_RISE);
    if (!isnan(fill_end.at))
        out->fill_end = fill_end;
    if (!isnan(rise.at))
        out->rise = rise;
    else if (!out->held) /* the one is the other */
        out->rise = out->fill_end;
    out->held = out->held || !isnan(rise.at);
}

/* Full pressure behind a restrictor that only a part of the fill shows.  Where nobody said that the
 * gauge sits before one, it may be none: what the gauge shows is then the puck's from the first row
 * on. */
static shot_instant from_part_of_fill(const shot_course *course, const shot_phases *out) {
    static const double off = 1; /* s; common practice, no source */
    shot_instant full = shot_instant_widened(out->full, off);
    if (!course->input->pump_gauge && isnan(shot_phase_known(course->input, SHOT_FULL).at))
        full.low = fmin(full.low, out->start);
    return full;
}

/* Was the pressure up when the log starts?  From its first level on it was never under the share of
 * the plateau that a plateau may have. */
static bool lacks_rise(const shot_course *course, const shot_phases *out, double plateau) {
    const shot_channel_view *level = &course->level;
    const double least = course->rest + shot_main_share * plateau;
    const double spacing = course->puck.noise.spacing; /* a hand's figures each show a level */
    if (out->full.at <= out->start + 2 * spacing && spacing < shot_by_hand)
        return true;
    for (size_t i = 0; i < level->n && level->t[i] <= out->full.at; i++)
        if (level->y[i] < least)
            return false;
    return !isnan(out->full.at);
}

/* The start of the main rise behind the last gap of the pump, if there is one: not before the pump
 * goes on, unless the pressure shows that a meter tells it late. */
static shot_status rise_after(const shot_course *course, const pump_gap *gap, double start,
                              double plateau, shot_phases *out) {
    const double full = out->full.at, at = foot(course, start, full, plateau);
    if (gap == NULL)
        return rise_start(course, start, start, at, full, &out->rise);
    const double stood = gap->off.at, on = fmin(start, gap->on.low);
    const double shown = foot(course, stood, full, plateau);
    const bool late = shown + foot_span(course) < on;
    return rise_start(course, stood, late ? stood : on, late ? shown : at, full, &out->rise);
}

shot_status shot_find_rise_before(const shot_course *course, double stood, double on, double full,
                                  shot_instant *out) {
    const double plateau = (shot_view_at(&course->level, full) - course->rest) / shot_full_share;
    const pump_gap gap = {.off.at = stood, .on.low = on};
    shot_phases phases = {.full.at = full, .rise = {NAN, NAN, NAN}};
    SHOT_TRY(rise_after(course, on > stood ? &gap : NULL, on, plateau, &phases));
    *out = phases.rise;
    return SHOT_OK;
}

/* Does the gauge stand at the end of its scale in the time that makes a plateau?  Then nobody knows
 * how high that is. */
static bool is_clipped(const shot_course *course, double full) {
    const shot_channel_view *gauge = &course->input->pressure;
    for (size_t i = shot_view_first(gauge, full);
         i < gauge->n && gauge->t[i] <= full + shot_level_seconds; i++)
        if (gauge->y[i] >= course->input->clipped)
            return true;
    return false;
}

/* Of a plateau a quarter above the end of the scale, which a lag of first order reaches, 95 % come
 * before the rise has taken as long again: ln 20 / ln 5 = 1.9. */
static shot_instant till_as_long_again(shot_instant full, const shot_instant *rise) {
    full.high = fmax(full.high, full.at + fmax(0, full.at - rise->at));
    return full;
}

static shot_status find_rise(const shot_course *course, const pump_gap *gaps, size_t count,
                             shot_phases *out) {
    double plateau,
        start = count > 0 ? gaps[count - 1].on.at : shot_course_let_go(course, &out->water_in);
    out->full = find_full(course, start, &plateau, &out->unfinished);
    out->late_full = out->late && lacks_rise(course, out, plateau);
    if (out->late_full && course->input->pump_gauge)
        out->full.high = NAN; /* the puck may follow seconds later */
    if (out->late && !out->late_full && course->restrictor.k > 0)
        out->full = from_part_of_fill(course, out);
    if (isnan(out->full.at))
        return SHOT_OK;
    out->full = till_it_fills(course, out->full);
    const double from = foot(course, start, out->full.at, plateau);
    const bool direct = count == 0 && from < start + foot_span(course);
    out->rise = out->water_in;
    if (!direct)
        SHOT_TRY(rise_after(course, count > 0 ? &gaps[count - 1] : NULL, start, plateau, out));
    find_fill(course, gaps, count, out);
    take_marked(course, out);
    out->clipped = is_clipped(course, out->full.at);
    if (out->clipped && isnan(shot_phase_known(course->input, SHOT_FULL).at))
        out->full = till_as_long_again(out->full, &out->rise);
    return SHOT_OK;
}

/* ---- what else the pump did ---- */

/* Water of a flush met no coffee; but nothing proves that it was one, so that the interval holds
 * both. */
static void leave_out(const pump_gap *gap, shot_phases *out) {
    out->flushed = out->water_in;
    out->flushed_until = gap->off;
    out->water_in = (shot_instant){gap->on.at, out->late ? NAN : out->water_in.low, gap->on.high};
    out->late = false;
}

/* A first run that may have been a flush as well.  Without a meter the interval says so. */
static void doubt(const shot_course *course, const pump_gap *first, shot_phases *out) {
    if (out->late || !shot_maybe_flush(course, out->water_in.at, first))
        return;
    out->runs_again = first->on;
    if (out->from_pressure)
        out->water_in.high = fmax(out->water_in.high, first->on.high);
}

shot_status shot_find_main_rise(shot_course *course, shot_phases *out) {
    if (course->puck.n < 5 || isnan(out->water_in.at) ||
        !(course->top - course->rest > fmax(shot_least_brew, 10 * course->puck.noise.sd)))
        return SHOT_OK;
    double until = shot_course_last_pressed(course);
    pump_gap *gaps = NULL;
    size_t count = 0, before = 0;
    if (isnan(until))
        return SHOT_OK;
    shot_status status = pump_gaps_find(course->input, course->restrictor.k, course->rest,
                                        out->water_in.at, until, &gaps, &count);
    if (status == SHOT_OK)
        before = shot_gaps_before_main_run(course, out->water_in.at, gaps, count);
    while (before > 0 && gaps[before - 1].on.at > shot_phase_known(course->input, SHOT_FULL).at)
        before--;
    if (out->from_pressure && before > 0)
        out->water_in.low =
            out->late ? NAN : course->puck.t[0]; /* pulses that filled the basket do not show */
    const bool known = !isnan(shot_phase_known(course->input, SHOT_WATER_IN).at);
    const size_t flushes = known ? 0 : shot_flushes(course, out->water_in.at, gaps, before);
    if (flushes > 0)
        leave_out(&gaps[flushes - 1], out);
    if (status == SHOT_OK)
        status = find_rise(course, gaps + flushes, before - flushes, out);
    if (before > flushes && !known)
        doubt(course, &gaps[flushes], out);
    shot_find_pause(course, gaps, count, out);
    free(gaps);
    return status;
}
