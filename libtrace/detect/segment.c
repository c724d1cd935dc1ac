/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Phases of a shot as marks. */
#include <shottrace/detect/segment.h>

#include <math.h>
#include <stdio.h>

#include <shottrace/trace/detector.h>

#include "detect/brewing.h"
#include "detect/hand_marks.h"
#include "detect/phases.h"
#include "detect/segment_watch.h"
#include "puck/water_counter.h"

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

/* A log that starts in the brew knows nothing of what came before, and when the brew began only
 * that it was no later than a level that is reached within the log. */
static shot_status add_end_alone(const shot_phases *phases, bool intervals, shot_findings *found) {
    const double by = phases->full.high;
    shot_instant start = {phases->start, NAN, isnan(by) ? by : fmax(phases->start, by)};
    SHOT_TRY(add_mark("brew", &start, &phases->pump_off, "the log starts in the brew", intervals,
                      found));
    return add_mark("release", &phases->pump_off, &phases->released, NULL, intervals, found);
}

static shot_status add_before_brew(const shot_phases *phases, bool intervals,
                                   shot_findings *found) {
    const char *late = phases->from_pressure
                           ? "water was in before pressure showed it; there is no flow to tell when"
                           : NULL;
    bool soak = phases->held && phases->rise.at > phases->fill_end.at + 0.3;
    bool filled = phases->late && phases->fill_end.at <= phases->water_in.at + 0.1;
    const shot_instant *ramp = soak ? &phases->rise : &phases->fill_end;
    SHOT_TRY(add_mark("preinfusion", &phases->water_in, &phases->full, late, intervals, found));
    if (!filled)
        SHOT_TRY(add_mark("fill", &phases->water_in, &phases->fill_end, late, intervals, found));
    if (soak)
        SHOT_TRY(add_mark("soak", filled ? &phases->water_in : &phases->fill_end, &phases->rise,
                          filled ? "the log starts when the basket was full" : NULL, intervals,
                          found));
    return add_mark("ramp", ramp, &phases->full, NULL, intervals, found);
}

static shot_status add_phases(const shot_phases *phases, bool intervals, shot_findings *found) {
    if (phases->late_full)
        return add_end_alone(phases, intervals, found);
    if (isnan(phases->full.at))
        return phases->from_pressure && !phases->unfinished
                   ? SHOT_OK
                   : add_mark("preinfusion", &phases->water_in, &phases->full,
                              "its end cannot be known", intervals, found);
    SHOT_TRY(add_before_brew(phases, intervals, found));
    SHOT_TRY(add_mark("brew", &phases->full, &phases->pump_off, NULL, intervals, found));
    return add_mark("release", &phases->pump_off, &phases->released, NULL, intervals, found);
}

static shot_status add_drip(const shot_phase_input *input, const shot_phases *phases,
                            bool intervals, shot_findings *found) {
    const bool lag_counts =
        isnan(input->scale_lag) && isnan(shot_phase_known(input, SHOT_FIRST_DRIP).at);
    const char *note = lag_counts ? "scale lag not known: taken as 0.4 s, may be 0 to 0.8 s" : NULL;
    return add_mark("first-drip", &phases->first_drip, &phases->first_drip, note, intervals, found);
}

/* Without a gauge nobody knows whether what ends is a brew; but water and cup tell when they stop,
 * and the pump stopped before the cup does. */
static shot_status add_stops(const shot_phase_input *input, const shot_phases *phases,
                             bool intervals, shot_findings *found) {
    if (input->pressure.n > 0)
        return SHOT_OK;
    SHOT_TRY(add_mark("note", &phases->water_end, &phases->water_end,
                      "the water stopped: a brew ended by then", intervals, found));
    return add_mark("note", &phases->stream_end, &phases->stream_end,
                    "the stream into the cup stopped: the brew had ended by then", intervals,
                    found);
}

/* ---- what cannot be known, and why ---- */

static shot_status note(shot_findings *found, const char *text) {
    return shot_findings_note(found, "segment", "%s", text);
}

static shot_status say_why_no_phases(const shot_phase_input *input, const shot_phases *phases,
                                     shot_findings *found) {
    char lack[SHOT_LACK_ROOM];
    if (input->pressure.n == 0) {
        shot_lack_say(input->no_pressure, "pressure", lack);
        return shot_findings_note(found, "segment", "no phases: %s%s", lack,
                                  input->no_pressure == SHOT_LACK_CHANNEL ? " to tell them by"
                                                                          : "");
    }
    if (phases->unfinished)
        return note(found, "no end of the preinfusion: the log ends before the pressure has stayed "
                           "at a level");
    if (isnan(phases->full.at) && !(phases->top > shot_least_brew))
        return shot_findings_note(found, "segment",
                                  "no phases: the pressure stays under %g bar, where none are "
                                  "looked for",
                                  shot_least_brew);
    if (isnan(phases->full.at))
        return note(found, "no phases: the pressure never rose to a level and stayed there");
    if (isnan(phases->pump_off.at))
        return note(found, "no end of the brew: the log ends, or pressure stays up");
    if (isnan(phases->released.at))
        return note(found, "no end of the release: the log ends, or some pressure stays");
    return SHOT_OK;
}

static shot_status say_why_no_drip(const shot_phase_input *input, const shot_phases *phases,
                                   shot_findings *found) {
    char lack[SHOT_LACK_ROOM];
    if (!isnan(phases->first_drip.at))
        return SHOT_OK;
    if (phases->late_full)
        return note(found, "no first drip: the log starts in the brew");
    if (phases->late_weight)
        return note(found, "no first drip: the weight starts when drops fell already");
    if (input->weight.n > 0 || input->outflow.n > 0)
        return note(found, "no first drip: the weight never left its idle level");
    if (input->no_weight == SHOT_LACK_CHANNEL && input->no_outflow == SHOT_LACK_CHANNEL)
        return note(found, "no first drip: there is no weight or outflow");
    bool weight = input->no_weight != SHOT_LACK_CHANNEL;
    shot_lack_say(weight ? input->no_weight : input->no_outflow, weight ? "weight" : "outflow",
                  lack);
    return shot_findings_note(found, "segment", "no first drip: %s", lack);
}

static shot_status say_why_no_water(const shot_phase_input *input, const shot_phases *phases,
                                    shot_findings *found) {
    char lack[SHOT_LACK_ROOM];
    if (phases->late_full)
        return note(found, "no preinfusion: the log starts when the brewing pressure was reached");
    if (!isnan(shot_phase_known(input, SHOT_WATER_IN).at))
        return SHOT_OK;
    if (phases->late)
        SHOT_TRY(note(found, "the log starts when water was in already: the start of the "
                             "preinfusion may be earlier"));
    if (input->water.n > 0)
        return shot_findings_note(found, "segment",
                                  "no flow: the running count of the water, in steps of %.3g ml, "
                                  "tells it",
                                  input->water.step);
    if (input->flow.n > 0 || input->pressure.n == 0)
        return SHOT_OK;
    shot_lack_say(input->no_flow, "flow", lack);
    return shot_findings_note(found, "segment",
                              "%s: water entered the basket up to some seconds before pressure "
                              "shows it",
                              input->no_flow == SHOT_LACK_CHANNEL ? "no flow" : lack);
}

/* What is no phase, but a person who reads them wants to know. */
static shot_status say_what_else(const shot_phases *phases, shot_findings *found) {
    if (phases->clipped)
        SHOT_TRY(note(found, "the gauge stood at the end of its scale: full pressure may come "
                             "later than the log shows"));
    if (!isnan(phases->flushed.at))
        SHOT_TRY(shot_findings_note(
            found, "segment",
            "water ran for %.1f s, met no resistance and stood for %.1f s, and the next of it "
            "filled a basket: taken for a flush before the shot; if it wetted the coffee, shot-tag "
            "--mark preinfusion=TIME before this filter says so",
            phases->flushed_until.at - phases->flushed.at,
            phases->water_in.at - phases->flushed_until.at));
    if (!isnan(phases->runs_again.at))
        SHOT_TRY(shot_findings_note(
            found, "segment",
            "water ran for %.1f s, met no pressure and stood for %.1f s: if that was a flush, "
            "shot-split before this filter takes it off",
            phases->fill_end.at - phases->water_in.at,
            phases->runs_again.at - phases->fill_end.at));
    if (phases->stood_until.at < phases->pump_off.at)
        SHOT_TRY(shot_findings_note(
            found, "segment", "the pump stood for %.1f s, %.1f s into the brew",
            phases->stood_until.at - phases->stood.at, phases->stood.at - phases->full.at));
    return SHOT_OK;
}

/* What was put in for them to tell by, or left out. */
static shot_status say_what_is_carried(const shot_phase_input *input, shot_findings *found) {
    if (input->spun)
        SHOT_TRY(shot_findings_note(
            found, "segment",
            "the meter shows more than %g ml/s, as in air or steam (an empty tank?): such rows "
            "were left out",
            water_fastest));
    const bool pressure = input->pressure.carried, flow = input->flow.carried;
    if (!pressure && !flow)
        return SHOT_OK;
    return shot_findings_note(
        found, "segment",
        "%s: no figure comes twice in a row, as if written only where it changed: rows without one "
        "count as the one before; shot-clean --hold says so to all filters behind it",
        pressure && flow ? "pressure and flow"
        : pressure       ? "pressure"
                         : "flow");
}

/* Rows that tell nothing. */
static shot_status say_what_froze(const shot_phase_input *input, shot_findings *found) {
    const size_t rows = input->pressure.n > 0 ? input->pressure.frozen : input->weight.frozen;
    if (rows == 0)
        return SHOT_OK;
    return shot_findings_note(found, "segment",
                              "%zu rows say in every channel what the row before said, and then "
                              "the figures leap, or say zero between two rows that agree: the "
                              "logger had lost its sensors, and these rows count as missing",
                              rows);
}

/* Where the log does not say where the gauge sits, the curves alone speak for a restrictor. */
static const char restrictor_known[] =
    "while the basket fills the pressure at the pump goes with the square of the flow, as before a "
    "restrictor: pressure at the puck is worked out from the flow";
static const char restrictor_guessed[] =
    "the curves look as if the gauge sat before a restrictor (while the basket fills the pressure "
    "goes with the square of the flow): pressure at the puck is worked out from the flow; if "
    "the gauge sits at the puck, shot-tag --set gauge=puck before this filter says so";

/* What a restrictor takes, and whether there is one, only flow tells. */
static shot_status say_where_gauge(const shot_phase_input *input, const shot_phases *phases,
                                   shot_findings *found) {
    if (phases->restriction > 0)
        return note(found, input->pump_gauge ? restrictor_known : restrictor_guessed);
    if (phases->late_full && input->pump_gauge)
        return note(found, "the gauge sits at the pump, and its pressure was up when the log "
                           "starts: the puck may have reached its own seconds later");
    if (input->puck_gauge || isnan(phases->full.at) || phases->late_full)
        return SHOT_OK;
    if (input->pump_gauge && input->flow.n > 0)
        return note(found, "the gauge sits at the pump and the flow shows no restrictor behind "
                           "it: its pressure is taken for the puck's");
    if (input->flow.n > 0)
        return SHOT_OK;
    if (input->pump_gauge)
        return note(found, "the gauge sits at the pump and there is no flow: the puck may have "
                           "reached its pressure seconds later");
    return note(found, "nothing says where the gauge sits: at the pump, before a restrictor, it "
                       "shows full pressure seconds before the puck has it; shot-tag --set "
                       "gauge=puck (or pump) before this filter says where");
}

/* ---- what a person marked ---- */

static const char *const moment_names[SHOT_MOMENTS] = {
    [SHOT_WATER_IN] = "water in",           [SHOT_FILL_END] = "end of the fill",
    [SHOT_RISE] = "start of the main rise", [SHOT_FULL] = "full pressure",
    [SHOT_PUMP_OFF] = "end of the brew",    [SHOT_RELEASED] = "end of the release",
    [SHOT_FIRST_DRIP] = "first drop",
};

/* Where the log shows another time, none of both intervals can be right about the other. */
static shot_status say_if_apart(const char *name, const shot_instant *marked,
                                const shot_instant *shown, shot_findings *found) {
    const double early = shown->low - marked->high, late = marked->low - shown->high;
    if (!(early > 0 || late > 0))
        return SHOT_OK;
    return shot_findings_note(
        found, "segment", "%s was marked by hand %.1f s %s the log shows it; the hand's is taken",
        name, fabs(marked->at - shown->at), early > 0 ? "before" : "after");
}

/* What the log shows by itself is looked for once more without the person's marks. */
static shot_status say_by_hand(const shot_phase_input *input, shot_findings *found) {
    shot_phase_input alone = *input;
    shot_phases shown;
    if (!input->by_hand)
        return SHOT_OK;
    alone.by_hand = false;
    SHOT_TRY(shot_phases_find(&alone, &shown));
    for (shot_moment m = 0; m < SHOT_MOMENTS; m++)
        SHOT_TRY(
            say_if_apart(moment_names[m], &input->known[m], shot_phases_moment(&shown, m), found));
    return SHOT_OK;
}

static shot_status say_why(const shot_phase_input *input, const shot_phases *phases,
                           shot_findings *found) {
    if (phases->no_water)
        return note(found, "no shot: no water ran in the whole log, as flow meter and gauge or "
                           "scale show");
    if (phases->more_shots)
        SHOT_TRY(note(found, "more than one shot in this log: only the first was looked at; "
                             "shot-split takes them apart"));
    SHOT_TRY(say_why_no_phases(input, phases, found));
    SHOT_TRY(say_why_no_water(input, phases, found));
    SHOT_TRY(say_why_no_drip(input, phases, found));
    SHOT_TRY(say_what_else(phases, found));
    SHOT_TRY(say_what_is_carried(input, found));
    SHOT_TRY(say_what_froze(input, found));
    SHOT_TRY(say_by_hand(input, found));
    return say_where_gauge(input, phases, found);
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
    shot_status status = shot_phase_input_take(shot, &input);
    if (status == SHOT_OK)
        status = shot_phases_find(&input, &phases);
    if (status == SHOT_OK)
        status = say_why(&input, &phases, found);
    if (status == SHOT_OK)
        status = add_phases(&phases, untouched(&input), found);
    if (status == SHOT_OK)
        status = add_drip(&input, &phases, untouched(&input), found);
    if (status == SHOT_OK)
        status = add_stops(&input, &phases, untouched(&input), found);
    if (status == SHOT_OK)
        status = shot_hand_marks_refine(shot, found);
    shot_phase_input_free(&input);
    return status;
}

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    return shot_detector_new_watching(making, &segment_watch, find, out, error);
}

static void latency(const void *settings, char *out, size_t room) {
    (void)settings;
    snprintf(
        out, room,
        "0 s for samples; provisional marks on typical logs: water in within 0.5 s in 99 shots of "
        "100, end of the fill within 1 s in 92, a soak within 2 s in 81, full pressure, and the "
        "main rise with it, within 1 s in 90, first drop within 2 s in 78, end of the brew and of "
        "the release within 1 s in 97 (docs/live.md); final marks at the end of the shot");
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
        "Adds the marks preinfusion (until the puck has its brewing pressure) and its parts fill "
        "(water fills the basket), soak (the puck is held wet) and ramp (the main rise of the "
        "pressure), then brew, release (the pressure goes) and first-drip, with the interval of "
        "each instant. They hold at the puck: where '# gauge: pump' says "
        "that the gauge sits at the pump, the pressure at the puck is worked out from the "
        "flow. What a person marked (shot-tag before this filter) is taken as it is, "
        "with the 0.2 s of a stopwatch where it has no interval, and the rest is found between "
        "such marks. A shot without pressure, flow or weight gets what can be known from the rest, "
        "and a note why the rest cannot. Samples pass unchanged.",
    .examples = examples,
    .role = SHOT_ROLE_FILTER,
    .memory = SHOT_MEMORY_SHOT,
    .options = (const shot_option[]){{0}},
    .make = make,
    .latency = latency,
};
