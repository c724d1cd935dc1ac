/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Measures of the course of a shot: how long each phase took, and when the first drop fell. */
#include "judge/measure_parts.h"

#include <math.h>

/* A hand that marks when the water came marks an instant: the phase has a start and no length. */
static bool is_instant(const shot_mark *mark) {
    return mark->to == mark->from;
}

static shot_status add_phase(const shot_view *view, const char *kind, const char *name,
                             shot_measure_list *out) {
    const shot_mark *mark = shot_mark_list_last(&view->shot->marks, kind);
    if (mark == NULL || is_instant(mark))
        return SHOT_OK;
    return shot_measure_add_length(name, shot_dated_start(mark), shot_dated_end(mark), NULL, out);
}

static shot_status add_first_drip(const shot_view *view, const shot_mark *preinfusion,
                                  shot_measure_list *out) {
    const shot_mark *drip = shot_mark_list_last(&view->shot->marks, "first-drip");
    return drip == NULL ? SHOT_OK
                        : shot_measure_add_length("first-drip.time", shot_dated_start(preinfusion),
                                                  shot_dated_start(drip), NULL, out);
}

/* Of the ends of a whole and of its first part: start, end of the part, end of the whole. */
static double share_of_time(const shot_view *view, const double *times) {
    return fmin(fmax(100 * (times[1] - times[0]) / (times[2] - times[0]), 0), 100);
}

static double water_of_part(const shot_view *view, const double *times) {
    return shot_view_water(view, times[0], times[1]);
}

static double share_of_water(const shot_view *view, const double *times) {
    return 100 * shot_view_water(view, times[0], times[1]) /
           shot_view_water(view, times[0], times[2]);
}

static shot_status add_shot_time(const shot_view *view, const shot_mark *preinfusion,
                                 shot_measure_list *out) {
    const shot_mark *brew = shot_mark_list_last(&view->shot->marks, "brew");
    if (brew == NULL || !isfinite(brew->to))
        return SHOT_OK;
    const shot_dated times[] = {shot_dated_start(preinfusion), shot_dated_end(preinfusion),
                                shot_dated_end(brew)};
    SHOT_TRY(shot_measure_add_length("shot.time", times[0], times[2], NULL, out));
    return is_instant(preinfusion)
               ? SHOT_OK
               : shot_measure_add_of_times(view, "preinfusion.share", share_of_time, times, 3, 0,
                                           NULL, out);
}

/* The mean of the meter's figures in from..to; NaN without any. */
static double mean_flow(const shot_view *view, double from, double to) {
    const double *flow = view->water;
    double sum = 0, count = 0;
    for (size_t i = 0; flow != NULL && i < view->rows; i++)
        if (view->time[i] >= from && view->time[i] <= to && !isnan(flow[i]))
            sum += flow[i], count++;
    return sum / count;
}

/* What ran in so many s before the end is what a resting meter is compared with (common practice,
 * no source). */
static const double seconds_before = 2;

static const double longest_rest = 2; /* s; common practice, no source */

/* The last row behind the end of the brew in which a count comes; NaN where they go on. */
static double counter_rests(const shot_view *view, double end) {
    const double *count = view->counter;
    double last = end, shown = NAN;
    for (size_t i = 0; i < view->rows && view->time[i] <= end + longest_rest; i++) {
        if (isnan(count[i]))
            continue;
        if (view->time[i] > end && count[i] > shown)
            last = view->time[i];
        shown = count[i];
    }
    return last <= end + longest_rest / 2 ? last : NAN;
}

/* When the meter has come to rest behind the end of the brew: what it shows until then ran before,
 * since a meter lags or counts over a gate, and a valve that drains the puck lets no water in.
 * NaN where it does not within 2 s, as where water runs on. */
static double meter_rests(const shot_view *view, double end) {
    static const double next_to_nothing = 0.05;
    if (view->counter != NULL)
        return counter_rests(view, end);
    const double *flow = view->water;
    const double limit = next_to_nothing * mean_flow(view, end - seconds_before, end);
    for (size_t i = 0; flow != NULL && limit > 0 && i < view->rows; i++)
        if (view->time[i] > end && flow[i] <= limit)
            return view->time[i] <= end + longest_rest ? view->time[i] : NAN;
    return NAN;
}

/* The end of the water as the meter shows it, which has no doubt but the time between two of its
 * figures; *half gets half of the interval that comes of that, in ml. */
static shot_status end_of_water(const shot_view *view, shot_dated *end, double *half) {
    const double rests = meter_rests(view, end->at);
    shot_noise noise;
    *half = 0;
    SHOT_TRY(shot_view_noise(view, "flow", &noise));
    if (isnan(rests))
        return SHOT_OK;
    if (view->counter == NULL && isfinite(noise.spacing))
        *half = SHOT_MEASURE_LEVEL / 2 * noise.spacing *
                mean_flow(view, end->at - seconds_before, end->at);
    *end = (shot_dated){rests, NAN, NAN};
    return SHOT_OK;
}

static shot_status add_water(const shot_view *view, const shot_mark *preinfusion,
                             shot_measure_list *out) {
    const shot_mark *brew = shot_mark_list_last(&view->shot->marks, "brew");
    const shot_dated start = shot_dated_start(preinfusion), full = shot_dated_end(preinfusion);
    shot_dated end = brew != NULL ? shot_dated_end(brew) : (shot_dated){NAN, NAN, NAN};
    /* else what came before the brew is not known */
    const bool ended = isfinite(preinfusion->to) && !is_instant(preinfusion);
    double half_before, half_all, half_end;
    SHOT_TRY(shot_view_water_half(view, start.at, full.at, &half_before));
    SHOT_TRY(shot_view_water_half(view, start.at, end.at, &half_all));
    SHOT_TRY(end_of_water(view, &end, &half_end));
    half_all = hypot(half_all, half_end);
    if (ended)
        SHOT_TRY(shot_measure_add_of_times(view, "preinfusion.water", water_of_part,
                                           (const shot_dated[]){start, full}, 2, half_before, NULL,
                                           out));
    SHOT_TRY(shot_measure_add_of_times(view, "water.used", water_of_part,
                                       (const shot_dated[]){start, end}, 2, half_all, NULL, out));
    return ended
               ? shot_measure_add_of_times(view, "preinfusion.water-share", share_of_water,
                                           (const shot_dated[]){start, full, end}, 3, 0, NULL, out)
               : SHOT_OK;
}

/* No part is longer than its whole. */
static void hold_parts(shot_measure_list *out) {
    static const char *const parts[] = {"fill.time", "soak.time", "ramp.time"};
    shot_measure_part_of(out, "preinfusion.time", "shot.time");
    shot_measure_part_of(out, "brew.time", "shot.time");
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        shot_measure_part_of(out, parts[i], "preinfusion.time");
}

shot_status shot_measure_course(const shot_view *view, shot_measure_list *out) {
    static const char *const phases[][2] = {{"preinfusion", "preinfusion.time"},
                                            {"fill", "fill.time"},
                                            {"soak", "soak.time"},
                                            {"ramp", "ramp.time"},
                                            {"brew", "brew.time"},
                                            {"release", "release.time"}};
    for (size_t i = 0; i < sizeof phases / sizeof *phases; i++)
        SHOT_TRY(add_phase(view, phases[i][0], phases[i][1], out));
    const shot_mark *preinfusion = shot_mark_list_last(&view->shot->marks, "preinfusion");
    if (preinfusion == NULL)
        return SHOT_OK;
    SHOT_TRY(shot_measure_list_add(out, "preinfusion.clock", preinfusion->from,
                                   preinfusion->from_low, preinfusion->from_high, NULL));
    SHOT_TRY(add_first_drip(view, preinfusion, out));
    SHOT_TRY(add_shot_time(view, preinfusion, out));
    hold_parts(out);
    return add_water(view, preinfusion, out);
}
