/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The end of the brew: the pump stops, or the handle goes back. */
#include <math.h>

#include "detect/brewing.h"
#include "detect/course.h"
#include "detect/flow_end.h"
#include "detect/log_holes.h"
#include "detect/power_onset.h"

static const double falling = 0.05; /* of itself in a second: faster than most brews decline */

/* Where the last fall of the pressure began: back from the end over rest and fall, to above `low`.
 * What a spring or a hand let go of before falls too, but not as fast: where the fall is long, it
 * began where it bends most.  Coarse figures show a puck that drains only over some time. */
static double last_fall(const shot_course *course, double from, double pressed, double low) {
    static const double lets_go = 0.2,
                        longest = 2; /* of itself in 1 s, s; common practice, no source */
    const shot_channel_view *level = &course->level;
    const double seen = 3 * level->noise.sd / (lets_go * (low - course->rest));
    const double span = fmax(fmax(0.4, fmin(seen, longest)), 2 * level->noise.spacing);
    double began = from;
    for (size_t i = shot_view_first(level, nextafter(pressed, INFINITY));
         i-- > 0 && level->t[i] > from;) {
        double here = level->y[i], before = shot_view_at(level, level->t[i] - span);
        double fall = fmax(falling * span * (before - course->rest), 3 * level->noise.sd);
        if (here > low && before - here < fall) {
            began = level->t[i];
            break;
        }
    }
    double bends = shot_onset_steepest_break(&course->puck, began, pressed);
    return bends > began + 2 * span ? bends : began;
}

/* The last sample up to i that is still over `near`: is the next one behind a hole of the log? */
static bool falls_in_hole(const shot_channel_view *view, size_t i, double near, size_t *last) {
    while (i > 0 && view->y[i] <= near)
        i--;
    *last = i;
    return i + 1 < view->n && shot_hole_before(view, i + 1);
}

/* Is sample i under half of the way, and so is one of the next two?  A lone one may be noise. */
static bool falls_for_good(const shot_channel_view *view, size_t i, double half) {
    if (view->y[i] > half)
        return false;
    return i + 2 >= view->n || view->y[i + 1] <= half || view->y[i + 2] <= half;
}

/* Does the channel lose a quarter of what it was, and three times as fast as in the row before, in
 * the row that ends at sample k, and not get it back in the next? */
static bool falls_in_row(const shot_channel_view *view, size_t k, double rest) {
    static const double part = 0.25, sharper = 3; /* common practice, no source */
    const double *t = view->t, *y = view->y;
    const double lost = y[k - 1] - y[k], rate = lost / (t[k] - t[k - 1]);
    const double before = (y[k - 2] - y[k - 1]) / (t[k - 1] - t[k - 2]);
    const double clear = fmax(part * (y[k - 1] - rest), 4 * view->noise.sd);
    return lost > clear && rate > sharper * before &&
           (k + 1 == view->n || y[k - 1] - y[k + 1] > clear);
}

/* Somewhere in the row that ends at sample k. */
static shot_instant in_row(const shot_channel_view *view, size_t k) {
    return (shot_instant){(view->t[k - 1] + view->t[k]) / 2, view->t[k - 1], view->t[k]};
}

/* s around an edge that are looked at. */
static double edge_reach(const shot_channel_view *view) {
    return fmax(1.5, 6 * view->noise.spacing);
}

/* Where a channel leaves the line before, about `usual`, on its way down, up to `end`. */
static shot_status fall_onset(const shot_channel_view *view, double about, double end, double usual,
                              shot_instant *out) {
    const double reach = edge_reach(view);
    shot_power_rule rule = {.from = about - reach,
                            .to = end,
                            .earliest = fmax(about - reach / 2, view->t[0]),
                            .latest = end,
                            .level = usual,
                            .level_sd = INFINITY,
                            .sloped = true,
                            .sign = -1,
                            .powers = 2};
    return shot_power_onset(view, &rule, out);
}

/* Where a channel starts to fall, to within a sample: the line before, and the way down to half.
 * Figures a second apart and more: between the last one that does not fall and the next.  Behind a
 * hole of the log: anywhere in it. */
static shot_status fall_start(const shot_channel_view *view, double about, double rest,
                              double before, shot_instant *out) {
    double spacing = view->noise.spacing, reach = edge_reach(view);
    double usual = NAN;
    for (double far = reach; isnan(usual) && far < 10 * reach; far *= 2) /* the log may have gaps */
        usual = shot_view_mean(view, about - far, about - before);
    double half = rest + (usual - rest) / 2, slack = 3 * view->noise.sd;
    size_t i = shot_view_first(view, about - before);
    while (i + 1 < view->n && !falls_for_good(view, i, half))
        i++;
    size_t last;
    if (view->rows == 0 &&
        falls_in_hole(view, i, usual - fmax(slack, 0.1 * (usual - rest)), &last)) {
        *out = in_row(view, last + 1);
        return SHOT_OK;
    }
    while (
        spacing >= shot_by_hand && i > 1 &&
        view->y[i - 2] - view->y[i - 1] >
            fmax(slack, 2 * falling * (view->t[i - 1] - view->t[i - 2]) * (view->y[i - 2] - rest)))
        i--;
    const bool before_half = spacing < shot_by_hand && i > 2 && falls_in_row(view, i - 1, rest);
    const size_t row = before_half ? i - 1 : i;
    if (row > 0 && (before_half || spacing >= shot_by_hand ||
                    view->y[i - 1] > usual - fmax(slack, 0.1 * (usual - rest)))) {
        *out = in_row(view, row);
        return SHOT_OK;
    }
    return fall_onset(view, about, fmin(view->t[i], about + reach), usual, out);
}

/* A figure of the flow that stands in several rows tells nothing of what came after its first row:
 * the flow fell since then, at most as long ago as a meter counts. */
static shot_instant since_last_figure(const shot_channel_view *flow, shot_instant falls) {
    static const double longest = 1.2; /* s, gate of a meter; common practice, no source */
    size_t i = shot_view_first(flow, falls.high);
    if (i == 0 || i == flow->n)
        return falls;
    for (i--; i > 0 && flow->y[i] == flow->y[i - 1];)
        i--;
    const double row = flow->rows > 0 ? flow->rows : flow->noise.spacing;
    const double low = fmin(falls.low, fmax(flow->t[i] - row, falls.high - longest));
    return (shot_instant){(low + falls.high) / 2, low, falls.high};
}

/* The last fall; where the flow tells when the pump stopped, the one that began then: a puck may
 * let its pressure go slowly, and a spring may have let go of most of it before. */
static double fall_near(const shot_course *course, double from, double stops, double pressed) {
    const shot_channel_view *level = &course->level;
    double after = fmax(1.5, 3 * level->noise.spacing), until = fmin(pressed, stops + after);
    if (until > stops) {
        double high = shot_view_at(level, stops - 0.5) - course->rest;
        double about = last_fall(course, from, until, course->rest + 0.3 * high);
        if (about < until - after / 3)
            return about;
    }
    return last_fall(course, from, pressed, course->rest + 0.3 * (course->top - course->rest));
}

/* How far the zero of the gauge may lie under what it shows at rest.  One that stands at 0 shows no
 * less than that, and hides how far it is off: by two steps, and by 0.3 bar at most (common
 * practice, no source).  One that stands at another figure is rounded. */
static double hidden_zero(const shot_course *course) {
    const shot_channel_view *gauge = &course->input->pressure;
    double at_rest = 0, stands = 0;
    for (size_t i = 0; i < gauge->n; i++) {
        at_rest += gauge->y[i] <= course->rest + 3 * gauge->noise.sd + gauge->step / 2;
        stands += gauge->y[i] == course->rest;
    }
    if (stands < 5 || stands < 0.8 * at_rest)
        return 0;
    return course->rest == 0 ? fmin(2 * gauge->step, 0.3) : gauge->step / 2;
}

/* Where the pressure comes under what is no pressure.  That stands over the rest of the gauge,
 * which is known as well as noise, its drift and its stop let it be: where the fall is slow, that
 * counts. */
static shot_instant find_release(const shot_course *course, double from) {
    const shot_channel_view *puck = &course->puck;
    const double none = course->rest + shot_no_pressure, end = puck->t[puck->n - 1];
    shot_instant found = shot_onset_crossing(puck, from, end, none, -1, 0.3);
    if (isnan(found.at))
        return found;
    const double half = fmax(0.15, puck->noise.spacing);
    const double fall = shot_view_at(&course->level, found.at - half) -
                        shot_view_at(&course->level, found.at + half);
    const double off = puck->noise.sd * 2 * half / fmax(fall, puck->noise.sd);
    const shot_instant last =
        shot_onset_crossing(puck, from, end, none - hidden_zero(course), -1, 0.3);
    found.low = found.at - hypot(found.at - found.low, off);
    found.high = found.at + hypot(found.high - found.at, off);
    found.high = fmax(found.high, last.high);
    return found;
}

/* s over which the pressure shows how fast it is let go of. */
static double fall_span(const shot_course *course) {
    return fmax(0.5, 3 * course->level.noise.spacing);
}

/* The time in from..to from which the pressure loses most within `span` seconds, and that. */
static double steepest_fall(const shot_channel_view *puck, double from, double to, double span,
                            double *most) {
    double where = NAN;
    *most = -INFINITY;
    for (size_t i = shot_view_first(puck, from); i < puck->n && puck->t[i] <= to; i++) {
        const double lost = puck->y[i] - shot_view_at(puck, puck->t[i] + span);
        if (lost > *most) {
            *most = lost;
            where = puck->t[i];
        }
    }
    return where;
}

/* Where the pressure falls at once behind `from`: three times as fast as it is let go of by `slope`
 * (bar/s; of NaN by what it lost just before), and from more than no pressure.  NaN where it does
 * not. */
static double falls_at_once(const shot_course *course, double from, double pressed, double slope) {
    static const double sharper = 3; /* common practice, no source */
    const shot_channel_view *puck = &course->puck;
    const double span = fall_span(course), brief = fmax(0.2, 1.5 * puck->noise.spacing);
    double most;
    const double falls = steepest_fall(puck, from + span, pressed, brief, &most);
    const double up = shot_view_mean(puck, falls - span / 2, falls);
    const double just = shot_view_mean(puck, falls - span, falls - span / 2);
    const double held = isnan(just) ? shot_view_at(puck, falls - span / 2) : just;
    const double gently = isnan(slope) ? (held - up) / (span / 2) : slope;
    const double usual = gently < 0 ? 0 : sharper * gently;
    return most / brief > usual + 4 * puck->noise.sd / brief &&
                   up - course->rest > 2 * shot_no_pressure
               ? falls
               : NAN;
}

/* Where the pressure, which a pump let go of evenly through the end of its flow, falls at once
 * later: there it stops for good, or the puck is drained.  NaN where the end of the flow shows in
 * it. */
static double falls_later(const shot_course *course, double ends, double pressed) {
    static const double alike = 1.5; /* common practice, no source */
    const shot_channel_view *level = &course->level;
    const double span = fall_span(course), at_end = shot_view_at(level, ends);
    const double before = (shot_view_at(level, ends - 2 * span) - at_end) / (2 * span);
    const double falls = falls_at_once(course, ends, pressed, before);
    const double up = shot_view_at(level, falls - span / 2);
    const double after = (at_end - up) / (falls - span / 2 - ends);
    const double clear = fmax(falling * (at_end - course->rest), 3 * course->level_se / span);
    const bool tapers = before > clear && after < alike * before + clear;
    return tapers ? falls : NAN;
}

/* Where the pressure falls at once later, while water runs on up to there: it was but eased off
 * before.  Where no meter tells, it may have been. */
static double stops_later(const shot_course *course, double eased, double pressed) {
    const shot_channel_view *flow = &course->flow_level;
    const double falls = falls_at_once(course, eased, pressed, NAN);
    if (flow->n < 5)
        return falls;
    const double usual = shot_view_mean(flow, eased - shot_judged_by, eased) - course->flow_rest;
    const double still = shot_view_mean(flow, eased + shot_meter_late, falls) - course->flow_rest;
    return usual > 10 * shot_flow_level_se(course) && still > usual / 4 ? falls : NAN;
}

/* Does the pressure let go from `at` on: does it lose more than it did just before, and a twentieth
 * of itself until the log ends?  A pump that holds its pressure on a puck that takes nothing does
 * not. */
static bool lets_go(const shot_course *course, double at) {
    static const double twice = 2; /* common practice, no source */
    const shot_channel_view *level = &course->level;
    const double end = level->t[level->n - 1], span = fmin(shot_judged_by, end - at);
    const double here = shot_view_at(level, at), noise = 3 * course->level_se;
    const double before = shot_view_at(level, at - span) - here;
    const double after = here - shot_view_at(level, at + span);
    const double lost = here - shot_view_at(level, end);
    return lost > falling * (here - course->rest) + noise &&
           after > twice * fmax(before, 0) + noise;
}

/* Where the pressure stays up, as in a line that the mains keep under theirs, and a trickle fills
 * it again, or where a valve shuts the gauge in with it: when the brew's flow went for good, and
 * the pressure began to fall.  NaN where it did not. */
static double last_brewing(const shot_course *course, double from) {
    const shot_channel_view *flow = &course->flow_level;
    const double end = flow->t[flow->n - 1], beyond = fmax(1, 4 * flow->noise.spacing);
    double usual, stops = end;
    for (int round = 0; round < 3; round++) { /* what is behind it is no part of the brew */
        usual = shot_view_mean(flow, from, stops) - course->flow_rest;
        stops = shot_flow_last_over(course, usual / 2, from, end);
    }
    const double later = shot_view_mean(flow, stops + beyond / 2, end) - course->flow_rest;
    const bool stood = stops + 2 * beyond < end && usual > 10 * shot_flow_level_se(course);
    const bool fell = lets_go(course, stops) || lets_go(course, stops - shot_meter_late);
    return stood && later < usual / 4 && fell ? stops : NAN;
}

/* About when the brew ended where the gauge is shut in with its pressure and lets go of it slowly,
 * or never: the water tells, or without a meter where the pressure bends before the stream into the
 * cup stops.  NaN where nothing tells. */
static double ends_shut_in(const shot_course *course, const shot_phases *out) {
    static const double drains = 3; /* s, of the puck; common practice, no source */
    const shot_instant *stream = &out->stream_end;
    if (course->flow_level.n >= 5)
        return last_brewing(course, out->full.at);
    if (isnan(stream->at))
        return NAN;
    const double bend = shot_onset_steepest_break(
        &course->puck, fmax(out->full.at, stream->low - drains), stream->high);
    return lets_go(course, bend) ? bend : NAN;
}

/* Is a fall of the pressure not that of the end: none was found before the log ends, or no meter
 * tells of water and the stream into the cup had stopped before it? */
static bool is_shut_in(const shot_course *course, const shot_phases *out, double about) {
    static const double clear = 1; /* s */
    const shot_channel_view *puck = &course->puck;
    return about >= puck->t[puck->n - 1] - 1.5 * puck->noise.spacing ||
           (course->flow_level.n < 5 && about > out->stream_end.high + clear);
}

/* The bend of the pressure of a gauge that is shut in: the line before, and the way down to half of
 * what it loses until the log ends. */
static shot_status shut_in_start(const shot_course *course, double about, shot_instant *out) {
    const shot_channel_view *puck = &course->puck, *level = &course->level;
    const double here = shot_view_at(level, about), half = (here + level->y[level->n - 1]) / 2;
    double end = about;
    for (size_t i = shot_view_first(level, about); i < level->n && level->y[i] > half; i++)
        end = level->t[i];
    end = fmin(fmax(end, about + 4 * puck->noise.spacing), about + edge_reach(puck));
    if (puck->noise.spacing < shot_by_hand)
        return fall_onset(puck, about, end, here, out);
    *out = (shot_instant){about, about - puck->noise.spacing, about + puck->noise.spacing};
    return SHOT_OK;
}

/* The brew goes on from where its flow went, at `stops`, or its pressure was eased off, `*off`, to
 * where the pressure falls at once later, if it does. */
static shot_status move_to_later_fall(const shot_course *course, double stops, double pressed,
                                      double slack, shot_instant *off) {
    shot_instant falls;
    double later = stops > 0 ? falls_later(course, off->high, pressed) : NAN;
    if (isnan(later))
        later = stops_later(course, off->at, pressed);
    if (isnan(later))
        return SHOT_OK;
    SHOT_TRY(fall_start(&course->puck, later, course->rest, slack, &falls));
    falls = shot_instant_widened(falls, shot_edge_slack(&course->puck) / 2);
    if (falls.at > off->at)
        *off = (shot_instant){falls.at, off->low, falls.high};
    return SHOT_OK;
}

static const double kept = 0.75; /* of a pressure that has not begun to go; common practice, no
                                    source */

/* A log may end with the row that shows the stop: no water runs in it, and the puck has lost a
 * quarter of its pressure. */
static bool ends_with_stop(const shot_course *course) {
    const shot_channel_view *puck = &course->puck, *flow = &course->input->flow;
    if (puck->n < 5 || flow->n < 5)
        return false;
    const size_t p = puck->n - 1, q = flow->n - 1;
    const double brewed = puck->t[p - 1];
    const double ran = shot_view_mean(flow, brewed - shot_judged_by, brewed) - course->flow_rest;
    const double up = shot_view_mean(puck, brewed - shot_judged_by, brewed) - course->rest;
    return flow->t[q] >= puck->t[p] && ran > 10 * shot_flow_level_se(course) &&
           flow->y[q] - course->flow_rest < shot_next_to_nothing * ran &&
           puck->y[p] - course->rest < kept * up - 3 * puck->noise.sd;
}

/* Has the pressure, which seems to fall from `about` on, kept most of itself when the log ends? */
static bool keeps_pressure(const shot_course *course, double about) {
    const shot_channel_view *puck = &course->puck;
    const double up = shot_view_mean(puck, about - shot_judged_by, about) - course->rest;
    return puck->y[puck->n - 1] - course->rest > kept * up;
}

/* Does the log end under pressure, and show no end of the brew? */
static bool ends_in_brew(const shot_course *course, double about, double stops) {
    const shot_channel_view *puck = &course->puck;
    const double end = puck->t[puck->n - 1], row = puck->noise.spacing;
    if (puck->y[puck->n - 1] <= course->rest + shot_no_pressure)
        return false;
    if (fmax(about, stops) >= end - 1.5 * row)
        return !ends_with_stop(course);
    return shot_water_runs_on(course, about) || (isnan(stops) && keeps_pressure(course, about));
}

static shot_status find_pump_off(const shot_course *course, shot_phases *out) {
    const shot_channel_view *puck = &course->puck, *flow = &course->input->flow;
    double pressed = shot_course_last_pressed(course), slack = fmax(0.6, 2 * puck->noise.spacing);
    double stops = flow->n >= 5 ? shot_flow_stops(course, out->full.at, pressed) : NAN;
    const double end = puck->t[puck->n - 1] - 1.5 * puck->noise.spacing;
    if (flow->n >= 5 && isnan(stops) && pressed >= end)
        stops = last_brewing(course, out->full.at);
    double about = fall_near(course, out->full.at, stops, pressed);
    const double bends = is_shut_in(course, out, about) ? ends_shut_in(course, out) : NAN;
    stops = isnan(bends) || flow->n < 5 ? stops : bends;
    about = isnan(bends) ? about : bends;
    if (ends_in_brew(course, about, isnan(stops) ? bends : stops))
        return SHOT_OK;
    out->pump_off = shot_flow_let_down(course, out->full.at, pressed);
    if (!isnan(out->pump_off.at))
        return move_to_later_fall(course, out->pump_off.at, pressed, slack, &out->pump_off);
    shot_instant shut = {NAN, NAN, NAN}, falls;
    SHOT_TRY(isnan(bends) ? fall_start(puck, about, course->rest, slack, &falls)
                          : shut_in_start(course, about, &falls));
    if (stops > about - 3)
        SHOT_TRY(fall_start(flow, stops, course->flow_rest, slack, &shut));
    if (course->input->water.n > 0) /* up to a count ran behind the last */
        shut = shot_instant_widened(shut, flow->noise.spacing / 2);
    else if (flow->rows > 0 || shut.low > falls.high + slack)
        shut = since_last_figure(flow, shut);
    /* pressure may be eased off long before the pump stops; but a slow meter may show it late */
    shot_instant off = shot_instant_of_both(&shut, &falls);
    if (shut.low > falls.high + slack)
        off = shut;
    else if (shut.at < falls.low && stops >= falls.low)
        off = falls; /* pressure holds only while the pump does, and water ran on */
    out->pump_off = shot_instant_widened(off, shot_edge_slack(puck) / 2);
    return move_to_later_fall(course, stops, pressed, slack, &out->pump_off);
}

/* A valve that parts the pump from the puck when it stops may let the puck go at once, of which a
 * gauge that is shut in with its pressure shows nothing.  It is, if it shows some when the stream
 * into the cup has stopped: a puck under pressure drips (Darcy 1856). */
static shot_instant released_after(const shot_course *course, const shot_phases *out) {
    const double up = fmax(course->top - course->rest, shot_no_pressure);
    shot_instant found = shot_course_shown_late(course, find_release(course, out->pump_off.at),
                                                shot_no_pressure / up);
    if (!course->input->puck_gauge && found.at > out->stream_end.high)
        found.low = fmin(found.low, fmax(out->pump_off.at, out->pump_off.low));
    return found;
}

/* A puck that the pump has left drains ever more slowly (Darcy 1856).  A pressure that takes longer
 * than a valve to go, and the second half of its way faster, is let down by a pump that still gives
 * water: the brew may have ended with it. */
static bool is_let_down(const shot_course *course, double off, double released) {
    static const double sooner = 2.0 / 3; /* common practice, no source */
    const shot_channel_view *level = &course->level;
    const double up = shot_view_at(level, off) - course->rest;
    double half = NAN, quarter = NAN;
    for (size_t i = shot_view_first(level, off); i < level->n && level->t[i] <= released; i++) {
        const double left = level->y[i] - course->rest;
        half = left > up / 2 ? level->t[i] : half;
        quarter = left > up / 4 ? level->t[i] : quarter;
    }
    return quarter - off > fmax(0.75 * shot_let_go, 3 * level->noise.spacing) &&
           quarter - half < sooner * (half - off);
}

/* Until when the water may have run on: where no meter tells, or one so coarse that it shows no end
 * of it, until the pressure is gone. */
static shot_instant till_none_runs(const shot_course *course, const shot_phases *out) {
    shot_instant off = out->pump_off;
    const double gone = out->released.at;
    if (is_let_down(course, off.at, gone))
        off.high = fmax(off.high, shot_flow_tells(course, out->full.at, gone)
                                      ? shot_flow_runs_until(course, out->full.at, gone)
                                      : gone);
    return off;
}

shot_status shot_find_end(const shot_course *course, shot_phases *out) {
    if (isnan(out->full.at))
        return SHOT_OK;
    out->pump_off = shot_phase_known(course->input, SHOT_PUMP_OFF);
    out->released = shot_phase_known(course->input, SHOT_RELEASED);
    if (isnan(out->pump_off.at)) {
        SHOT_TRY(find_pump_off(course, out));
        if (out->pump_off.at <= out->full.at) /* no brew ends before it begins */
            out->pump_off = (shot_instant){NAN, NAN, NAN};
    }
    if (!isnan(out->pump_off.at) && isnan(out->released.at))
        out->released = released_after(course, out);
    if (isnan(shot_phase_known(course->input, SHOT_PUMP_OFF).at))
        out->pump_off = till_none_runs(course, out);
    return SHOT_OK;
}

shot_status shot_find_water_end(const shot_course *course, shot_phases *out) {
    const shot_channel_view *flow = &course->input->flow;
    if (course->input->pressure.n > 0 || flow->n < 5 || isnan(out->water_in.at))
        return SHOT_OK;
    const double end = flow->t[flow->n - 1], spacing = flow->noise.spacing;
    const double stops = shot_flow_stops(course, out->water_in.at, end);
    if (!(stops < end - 1.5 * spacing)) /* the log ends while water runs */
        return SHOT_OK;
    shot_instant falls;
    SHOT_TRY(fall_start(flow, stops, course->flow_rest, fmax(0.6, 2 * spacing), &falls));
    if (flow->rows > 0)
        falls = since_last_figure(flow, falls);
    out->water_end = shot_instant_widened(falls, shot_edge_slack(flow));
    return SHOT_OK;
}
