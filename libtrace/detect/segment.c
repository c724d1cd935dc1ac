/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Phases of a shot as marks. */
#include <shottrace/detect/segment.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <shottrace/trace/detector.h>

#include "detect/phases.h"
#include "detect/segment_watch.h"

static const double level = 0.95;

static shot_status add_mark(const char *kind, const shot_instant *from, const shot_instant *to,
                            const char *note, bool intervals, shot_findings *found) {
    shot_mark mark = shot_mark_none();
    if (isnan(from->at))
        return SHOT_OK;
    mark.kind = (char *)kind;
    mark.from = from->at;
    mark.to = to->at;
    mark.note = (char *)note;
    if (intervals) {
        mark.from_low = from->low;
        mark.from_high = from->high;
        mark.to_low = to->low;
        mark.to_high = to->high;
        mark.level = level;
    }
    return shot_findings_add(found, &mark);
}

static shot_status add_phases(const shot_phases *phases, bool intervals, shot_findings *found) {
    const char *late = phases->from_pressure
                           ? "water was in before pressure showed it; there is no flow to tell when"
                           : NULL;
    bool soak = phases->held && phases->rise.at > phases->fill_end.at + 0.3;
    const shot_instant *ramp = soak ? &phases->rise : &phases->fill_end;
    if (isnan(phases->full.at) && !phases->from_pressure)
        return add_mark("preinfusion", &phases->water_in, &phases->full, "its end cannot be known",
                        intervals, found);
    if (!isnan(phases->full.at)) {
        SHOT_TRY(add_mark("preinfusion", &phases->water_in, &phases->full, late, intervals, found));
        SHOT_TRY(add_mark("fill", &phases->water_in, &phases->fill_end, late, intervals, found));
        if (soak)
            SHOT_TRY(add_mark("soak", &phases->fill_end, &phases->rise, NULL, intervals, found));
        SHOT_TRY(add_mark("ramp", ramp, &phases->full, NULL, intervals, found));
        SHOT_TRY(add_mark("brew", &phases->full, &phases->pump_off, NULL, intervals, found));
        SHOT_TRY(add_mark("release", &phases->pump_off, &phases->released, NULL, intervals, found));
    }
    return SHOT_OK;
}

static shot_status add_drip(const shot_phase_input *input, const shot_phases *phases,
                            bool intervals, shot_findings *found) {
    const char *note =
        isnan(input->scale_lag) ? "scale lag not known: taken as 0 s, may be 0.8 s" : NULL;
    if (input->weight.n == 0 && input->outflow.n == 0)
        return SHOT_OK;
    return add_mark("first-drip", &phases->first_drip, &phases->first_drip, note, intervals, found);
}

/* ---- what cannot be known, and why ---- */

static shot_status say_why(const shot_phase_input *input, const shot_phases *phases,
                           shot_findings *found) {
    if (input->pressure.n == 0)
        SHOT_TRY(shot_findings_note(found, "segment",
                                    "no phases: there is no pressure to tell them by"));
    else if (isnan(phases->full.at))
        SHOT_TRY(shot_findings_note(
            found, "segment", "no phases: the pressure never rose to a level and stayed there"));
    else if (isnan(phases->pump_off.at))
        SHOT_TRY(shot_findings_note(found, "segment",
                                    "no end of the brew: the log ends, or pressure stays up"));
    if (input->flow.n == 0 && input->pressure.n > 0)
        SHOT_TRY(shot_findings_note(
            found, "segment",
            "no flow: water entered the basket up to some seconds before pressure shows it"));
    if (input->weight.n == 0 && input->outflow.n == 0)
        SHOT_TRY(
            shot_findings_note(found, "segment", "no first drip: there is no weight or outflow"));
    else if (isnan(phases->first_drip.at))
        SHOT_TRY(shot_findings_note(found, "segment",
                                    "no first drip: the weight never left its idle level"));
    if (phases->late)
        SHOT_TRY(shot_findings_note(found, "segment",
                                    "the log starts when water was in already: the start of the "
                                    "preinfusion may be earlier"));
    if (phases->restriction > 0)
        SHOT_TRY(shot_findings_note(found, "segment",
                                    "the gauge sits before a restrictor: pressure at the puck is "
                                    "worked out from the flow"));
    else if (input->pump_gauge)
        SHOT_TRY(shot_findings_note(found, "segment",
                                    "the gauge sits at the pump and there is no flow: the puck may "
                                    "have reached its pressure seconds later"));
    return SHOT_OK;
}

/* ---- the shot ---- */

static bool untouched(const shot_phase_input *input) {
    return !(input->pressure.processed || input->flow.processed || input->weight.processed ||
             input->outflow.processed);
}

static shot_status find(const shot_table *shot, const void *settings, shot_findings *found,
                        shot_error *error) {
    shot_phase_input input = {0};
    shot_phases phases;
    shot_status status = shot_phase_input_take(shot, &input, error);
    if (status == SHOT_OK)
        status = shot_phases_find(&input, &phases);
    if (status == SHOT_OK)
        status = say_why(&input, &phases, found);
    if (status == SHOT_OK)
        status = add_phases(&phases, untouched(&input), found);
    if (status == SHOT_OK)
        status = add_drip(&input, &phases, untouched(&input), found);
    shot_phase_input_free(&input);
    return status;
}

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    return shot_detector_new_watching(making, &segment_watch, find, out, error);
}

static void latency(const void *settings, char *out, size_t room) {
    snprintf(
        out, room,
        "0 s for samples; provisional marks from 10 Hz on: water in within 0.5 s, end of the "
        "preinfusion within 1 s in most shots (docs/segment.md); final marks at the end of the "
        "shot");
}

static const char *const examples[] = {
    "shot-segment shot.csv | shot-report",
    "shot-clean day.csv | shot-segment | shot-marks",
    NULL,
};

const shot_description shot_segment = {
    .name = "segment",
    .purpose = "find the phases of a shot",
    .details =
        "Adds the marks preinfusion, fill, soak, ramp, brew, release and first-drip, with "
        "the interval of each instant. They hold at the puck: where '# gauge: pump' says "
        "that the gauge sits at the pump, the pressure at the puck is worked out from the "
        "flow. A shot without pressure, flow or weight gets what can be known from the rest, "
        "and a note why the rest cannot. Samples pass unchanged.",
    .examples = examples,
    .role = SHOT_ROLE_FILTER,
    .memory = SHOT_MEMORY_SHOT,
    .options = (const shot_option[]){{0}},
    .make = make,
    .latency = latency,
};
