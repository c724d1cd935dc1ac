/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pulses of a pulsed pre-wetting as marks. */
#include <shottrace/detect/pulses.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <shottrace/trace/detector.h>

#include "detect/pulse_watch.h"
#include "detect/pump_gaps.h"

static const double level = 0.95;
static const double nothing = 0.5; /* bar: no pressure worth the name */

static bool untouched(const shot_phase_input *input) {
    return !input->pressure.processed && !input->flow.processed;
}

/* The lowest pressure in from..to, in means of three samples so that one stray figure is not it;
 * NaN without any. */
static double lowest(const shot_channel_view *pressure, double from, double to) {
    double least = NAN;
    for (size_t i = shot_view_first(pressure, from); i < pressure->n && pressure->t[i] <= to; i++) {
        double sum = 0, n = 0;
        for (size_t k = i > 0 ? i - 1 : 0; k <= i + 1 && k < pressure->n; k++)
            sum += pressure->y[k], n++;
        least = fmin(least, sum / n); /* of NaN and a number the number */
    }
    return least;
}

static shot_status add_pulse(const shot_phase_input *input, double rest, const shot_instant *on,
                             const shot_instant *off, double next, shot_findings *found) {
    shot_mark mark = shot_mark_none();
    double least = lowest(&input->pressure, off->at, next);
    mark.kind = (char *)"pulse";
    mark.from = on->at;
    mark.to = off->at;
    if (untouched(input)) {
        mark.from_low = on->low;
        mark.from_high = on->high;
        mark.to_low = off->low;
        mark.to_high = off->high;
        mark.level = level;
    }
    if (!isnan(least)) {
        mark.channel = (char *)"pressure";
        mark.value = least;
        mark.unit = (char *)"bar";
        mark.note = (char *)(least - rest < nothing ? "pressure fell under 0.5 bar after it"
                                                    : "pressure stayed over 0.5 bar after it");
    }
    return shot_findings_add(found, &mark);
}

/* Count, period and duty, for a person who reads the trace; the last pulse has none after it, and
 * counts in neither. */
static shot_status sum_up(const shot_instant *water, const pump_gap *gaps, size_t count,
                          shot_findings *found) {
    if (count == 0)
        return SHOT_OK;
    double on = gaps[0].off.at - water->at;
    if (count == 1)
        return shot_findings_note(found, "pulses", "1 pulse, on for %.2f s, then off for %.2f s",
                                  on, gaps[0].on.at - gaps[0].off.at);
    double span = gaps[count - 2].on.at - water->at;
    for (size_t i = 1; i + 1 < count; i++)
        on += gaps[i].off.at - gaps[i - 1].on.at;
    return shot_findings_note(found, "pulses", "%zu pulses, period %.2f s, on for %.0f %% of it",
                              count, span / (double)(count - 1), 100 * on / span);
}

static shot_status add_pulses(const shot_phase_input *input, const shot_phases *phases,
                              const pump_gap *gaps, size_t count, shot_findings *found) {
    SHOT_TRY(sum_up(&phases->water_in, gaps, count, found));
    for (size_t i = 0; i < count; i++)
        SHOT_TRY(add_pulse(input, phases->rest, i == 0 ? &phases->water_in : &gaps[i - 1].on,
                           &gaps[i].off, gaps[i].on.at, found));
    return SHOT_OK;
}

static shot_status say_why(const shot_phase_input *input, shot_findings *found) {
    char lack[SHOT_LACK_ROOM];
    bool pressure = input->no_pressure != SHOT_LACK_CHANNEL;
    if (!pressure && input->no_flow == SHOT_LACK_CHANNEL)
        return shot_findings_note(found, "pulses", "no pulses: there is no pressure or flow");
    shot_lack_say(pressure ? input->no_pressure : input->no_flow, pressure ? "pressure" : "flow",
                  lack);
    return shot_findings_note(found, "pulses", "no pulses: %s", lack);
}

/* ---- without pressure ---- */

/* How many of the gaps lie before the longest time for which the pump runs, which is the brew. */
static size_t before_longest_run(const pump_gap *gaps, size_t count, double from, double to) {
    size_t before = 0;
    double longest = -INFINITY;
    for (size_t i = 0; i <= count; i++) {
        const double start = i == 0 ? from : gaps[i - 1].on.at;
        const double run = (i == count ? to : gaps[i].off.at) - start;
        if (run > longest) {
            longest = run;
            before = i;
        }
    }
    return before;
}

/* Without pressure nothing tells when brewing starts but the flow itself. */
static shot_status look_at_flow(const shot_phase_input *input, const shot_phases *phases,
                                shot_findings *found) {
    pump_gap *gaps;
    size_t count;
    const double from = phases->water_in.at, to = input->flow.t[input->flow.n - 1];
    SHOT_TRY(pump_gaps_find(input, phases->restriction, phases->rest, from, to, &gaps, &count));
    count = before_longest_run(gaps, count, from, to);
    shot_status status = add_pulses(input, phases, gaps, count, found);
    if (status == SHOT_OK && count > 0)
        status = shot_findings_note(found, "pulses",
                                    "pulses without pressure: the longest time for which water "
                                    "runs is taken to be the brew");
    free(gaps);
    return status;
}

static shot_status look(const shot_phase_input *input, shot_findings *found) {
    shot_phases phases;
    pump_gap *gaps = NULL;
    size_t count = 0;
    if (input->pressure.n == 0 && input->flow.n == 0)
        return say_why(input, found);
    SHOT_TRY(shot_phases_find(input, &phases));
    if (input->pressure.n == 0 && !isnan(phases.water_in.at))
        return look_at_flow(input, &phases, found);
    if (isnan(phases.full.at) || isnan(phases.water_in.at))
        return shot_findings_note(found, "pulses",
                                  "no pulses: no main rise was found that they could precede");
    SHOT_TRY(pump_gaps_find(input, phases.restriction, phases.rest, phases.water_in.at,
                            phases.full.high, &gaps, &count));
    shot_status status = add_pulses(input, &phases, gaps, count, found);
    free(gaps);
    return status;
}

/* What falls between two rows leaves no trace: none found is then no proof of none.  A pulse is on
 * for a second or two (common practice, no source). */
static shot_status say_how_slow(const shot_phase_input *input, shot_findings *found) {
    const double flow = input->flow.n > 0 ? input->flow.noise.spacing : INFINITY;
    const double pressure = input->pressure.n > 0 ? input->pressure.noise.spacing : INFINITY;
    const double spacing = fmin(flow, pressure);
    if (!(spacing >= 1) || isinf(spacing))
        return SHOT_OK;
    return shot_findings_note(
        found, "pulses", "a row every %.3g s: shorter pulses and gaps cannot be seen", spacing);
}

static shot_status find(const shot_table *shot, const void *settings, shot_findings *found,
                        shot_error *error) {
    shot_phase_input input;
    shot_status status = shot_phase_input_take(shot, &input);
    if (status == SHOT_OK)
        status = look(&input, found);
    if (status == SHOT_OK)
        status = say_how_slow(&input, found);
    shot_phase_input_free(&input);
    return status;
}

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    return shot_detector_new_watching(making, &pulse_watch, find, out, error);
}

static void latency(const void *settings, char *out, size_t room) {
    (void)settings;
    snprintf(out, room,
             "0 s for samples; provisional marks on typical logs with a flow meter: a pulse within "
             "1 s of its end in 98 of 100 (docs/pulses.md); final marks at the end of the shot");
}

static const char *const examples[] = {
    "shot-pulses shot.csv | shot-marks",
    "shot-clean day.csv | shot-segment | shot-pulses | shot-report",
    NULL,
};

const shot_description shot_pulses = {
    .name = "pulses",
    .purpose = "find the pulses of a pulsed pre-wetting",
    .details = "Adds a mark 'pulse' for each time that the pump ran before the main rise: when it "
               "started and stopped, with intervals, the lowest pressure before the next as value, "
               "and whether that was under 0.5 bar. A note sums up count, period and the share of "
               "time in which the pump ran. Needs flow or pressure; pressure alone shows a pulse "
               "only where the basket is full. Samples pass unchanged.",
    .examples = examples,
    .role = SHOT_ROLE_FILTER,
    .memory = SHOT_MEMORY_SHOT,
    .options = (const shot_option[]){{0}},
    .make = make,
    .latency = latency,
};
