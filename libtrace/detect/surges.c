/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Surges as marks. */
#include <shottrace/detect/surges.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/detector.h>
#include <shottrace/trace/text.h>

#include "detect/meter_lag.h"
#include "detect/surge_pieces.h"
#include "detect/surge_input.h"
#include "detect/surge_obeyed.h"
#include "detect/surge_watch.h"
#include "detect/touched_scale.h"

static const shot_option options[] = {
    {.name = "alarm-rate",
     .kind = SHOT_OPTION_QUANTITY,
     .unit = "%",
     .field = offsetof(struct surges_settings, alarm_rate),
     .argument = "RATE",
     .initial = "1%",
     .low = 1e-6,
     .high = 50,
     .help = "how often noise alone may look like a surge, a shot"},
    {0}};

static const double level = 0.95;
static const double building = 3; /* s after the first drop in which the stream still builds up;
                                     common practice, no source */

static const double stream_late = 1.5; /* s by which a stream may show late: by the lag of a scale,
                                          and by the slope that a machine takes of it; common
                                          practice, no source */

static const double settled = 0.5; /* s before a change in which it is felt */

static const double raised = 0.5; /* where pressure is not known, flow that doubles and more is that
                                     of a pressure raised from pre-wetting to brewing; common
                                     practice, no source */

static const double filling = 8; /* s that a basket takes to fill; common practice, no source */

static const double rising = 1;  /* s before the brewing pressure is reached that are looked at */
static const double moments = 1; /* s of a brew that show no before */
static const double soaking = 4; /* s of pre-wetting that are worth a look */

/* What a shot gives to judge by.  The cup's stream counts where there is neither water nor scale.
 */
typedef struct evidence {
    shot_phase_input input;
    conductance_data flow, water, weight, stream;
    conductance_data *channels[2];
    size_t count;
    const char *channel, *unit; /* of the first */
    double meter_lag;           /* s by which the meter of the flow shows late */
} evidence;

/* Without pressure the size is that of a pressure that is held, and no interval can say how far it
 * was not.  The puck may open `late` seconds before that shows. */
static void set_intervals(const surge *one, bool blind, double late, shot_mark *mark) {
    mark->from_low = one->from_low - late;
    mark->from_high = one->from_high;
    mark->to_low = one->to_low;
    mark->to_high = one->to_high;
    mark->value_low = blind ? NAN : 100 * fmax(one->loss_low, 0);
    mark->value_high = blind ? NAN : 100 * one->loss_high;
    mark->level = level;
}

static bool is_by(const evidence *e, const conductance_data *data) {
    return e->count > 0 && e->channels[0] == data;
}

/* Nothing tells whether pressure was held. */
static bool is_blind(const evidence *e) {
    return e->input.pressure.n == 0;
}

static shot_status write_note(const surge *one, const evidence *from, shot_text *note) {
    if (one->eased)
        return shot_text_add(note, "pressure was lowered while it opened: what was lost by then");
    if (!isnan(one->flow_rise))
        SHOT_TRY(shot_text_add_format(note, "flow rose by %.2f %s%s", one->flow_rise, from->unit,
                                      is_blind(from) ? "; " : ""));
    else if (!isnan(one->pressure_fall) && !is_blind(from))
        SHOT_TRY(shot_text_add_format(note, "pressure fell by %.2f bar", one->pressure_fall));
    if (is_blind(from))
        SHOT_TRY(shot_text_add(note, "pressure is not known: raised, it would look the same"));
    return SHOT_OK;
}

/* By how much what shows the surge may show late, beyond what the search allows for. */
static double lateness(const evidence *from) {
    return is_by(from, &from->stream) ? stream_late
           : is_by(from, &from->flow) ? from->meter_lag
                                      : 0;
}

static shot_status add_surge(const surge *one, const evidence *from, shot_findings *found) {
    shot_mark mark = shot_mark_none();
    shot_text note = {0};
    if (one->loss_low <= 0) /* a loss that may be nothing is none */
        return SHOT_OK;
    SHOT_TRY(write_note(one, from, &note));
    mark.kind = (char *)"surge";
    mark.from = one->from;
    mark.to = one->to;
    mark.value = 100 * one->loss;
    mark.unit = (char *)"%";
    mark.channel = (char *)from->channel;
    mark.note = note.bytes;
    if (!from->input.flow.processed && !from->input.weight.processed &&
        !(is_by(from, &from->stream) && from->input.outflow.processed) &&
        !from->input.pressure.processed)
        set_intervals(one, is_blind(from), lateness(from), &mark);
    shot_status status = shot_findings_add(found, &mark);
    shot_text_free(&note);
    return status;
}

/* A stretch in which surges are looked for: the brew, or the pre-wetting while it is held. */
typedef struct stretch {
    double from, to;
    double first, last; /* onsets that are looked for lie between these */
    double told;        /* they are told if the first comes no later */
} stretch;

static shot_status take_channel(evidence *e, const shot_channel_view *view, bool summed,
                                const shot_phases *phases, stretch over, conductance_data *data) {
    if (data != &e->flow && data != &e->water && !isnan(phases->drips))
        over.from = fmax(over.from, phases->drips + building);
    if (view->n < 5 || !(over.to > over.from))
        return SHOT_OK;
    SHOT_TRY(
        surge_input_take(&e->input, view, phases->restriction, summed, over.from, over.to, data));
    if (data->n >= 8 && data->middle > 0)
        e->channels[e->count++] = data;
    return SHOT_OK;
}

static shot_status take_channels(evidence *e, const shot_phases *phases, stretch over) {
    e->count = 0;
    if (e->input.water.n > 0)
        SHOT_TRY(take_channel(e, &e->input.water, true, phases, over, &e->water));
    else
        SHOT_TRY(take_channel(e, &e->input.flow, false, phases, over, &e->flow));
    SHOT_TRY(take_channel(e, &e->input.weight, true, phases, over, &e->weight));
    if (e->input.flow.n == 0 && e->input.weight.n == 0)
        SHOT_TRY(take_channel(e, &e->input.outflow, false, phases, over, &e->stream));
    const bool counted = is_by(e, &e->water);
    e->channel = is_by(e, &e->flow)     ? "flow"
                 : counted              ? "water"
                 : is_by(e, &e->stream) ? e->input.stream
                                        : "weight";
    e->unit = counted || strcmp(e->channel, "flow") == 0 ? "ml/s" : "g/s";
    return SHOT_OK;
}

static shot_status say_why(const evidence *e, const shot_phases *phases, shot_findings *found) {
    const char *why = e->input.flow.n == 0 && e->input.weight.n == 0 && e->input.outflow.n == 0
                          ? "no surges: there is no flow or weight"
                      : is_blind(e) ? "no surges: there is no pressure, and no flow long enough"
                      : isnan(phases->full.at)
                          ? "no surges: the pressure never rose to a level and stayed there"
                          : "no surges: too few samples of flow or weight in the brew";
    return shot_findings_note(found, "surges", "%s", why);
}

/* A scale that hangs until the brew has ended tells nothing of the rest of it. */
static shot_status say_if_scale_hangs(const evidence *e, double end, shot_findings *found) {
    const double lag = isnan(e->input.scale_lag) ? 0 : e->input.scale_lag;
    const bool metered = e->input.flow.n > 0 || e->input.water.n > 0;
    double hangs = INFINITY;
    if (isfinite(end))
        SHOT_TRY(shot_view_hangs_from(&e->input.weight, end + lag, &hangs));
    if (!isfinite(hangs))
        return SHOT_OK;
    return shot_findings_note(found, "surges",
                              "the scale shows one figure from %.1f s until the brew has ended, "
                              "though the stream ran: %s tells what opened then",
                              hangs, metered ? "the flow alone" : "nothing");
}

/* Without pressure: flow that may have doubled is that of a pressure raised, and so is what rises
 * just before and after it. */
static bool may_be_raised(const surge *surges, size_t count, size_t i) {
    for (size_t k = 0; k < count; k++)
        if (surges[k].loss_high > raised && surges[k].from < surges[i].to + surge_relaxing &&
            surges[i].from < surges[k].to + surge_relaxing)
            return true;
    return false;
}

/* Surges of a stretch; *ends gets the end of the last one, or -INFINITY. */
static shot_status look_over(evidence *e, const shot_phases *phases, stretch over,
                             double alarm_rate, shot_findings *found, size_t *channels,
                             double *ends) {
    surge *surges = NULL;
    size_t count = 0;
    shot_status status = take_channels(e, phases, over);
    *channels += e->count;
    if (status == SHOT_OK)
        status = surges_find(e->channels, e->count,
                             &(surge_search){over.first, over.last, false, alarm_rate, level},
                             &surges, &count);
    *ends = -INFINITY;
    const bool told = count > 0 && surges[0].from <= over.told;
    for (size_t i = 0; i < count && told && status == SHOT_OK; i++) {
        if (!is_blind(e) || !may_be_raised(surges, count, i))
            status = add_surge(&surges[i], e, found);
        *ends = surges[i].to;
    }
    free(surges);
    surge_input_free(&e->flow);
    surge_input_free(&e->water);
    surge_input_free(&e->weight);
    surge_input_free(&e->stream);
    return status;
}

/* From then on a change may be felt; infinite without one. */
static double felt_from(const shot_instant *change) {
    return isnan(change->at) ? INFINITY : fmin(change->at - settled, change->low);
}

/* Where pressure is not known: from the first drop on, or where no scale shows it from when the
 * basket is full, to the end of the water, or of the stream. */
static stretch flowing(const shot_phases *phases) {
    bool drips = !isnan(phases->drips), ends = !isnan(phases->water_end.at);
    double from = drips ? phases->drips : phases->water_in.at + filling;
    return (stretch){fmax(from, phases->water_in.at),
                     felt_from(ends ? &phases->water_end : &phases->stream_end), -INFINITY,
                     INFINITY, INFINITY};
}

/* The pre-wetting while it is held. */
static shot_status look_at_soak(evidence *e, const shot_phases *phases, double alarm_rate,
                                shot_findings *found, size_t *channels) {
    const stretch soak = {phases->fill_end.at, felt_from(&phases->rise), -INFINITY, INFINITY,
                          INFINITY};
    double ends;
    return phases->rise.at - phases->fill_end.at > soaking
               ? look_over(e, phases, soak, alarm_rate, found, channels, &ends)
               : SHOT_OK;
}

/* The brew.  Of what opens in its first moments it shows no before; but a bed that was held wet
 * shows one while the pressure rises.  What opens soon after is looked for too, lest it pass for
 * one in the first moments; without one there it is for the brew, whose trend is clearer
 * without the rise. */
static shot_status look_at_brew(evidence *e, const shot_phases *phases, double alarm_rate,
                                double early_rate, shot_findings *found, size_t *channels) {
    const double full = phases->full.at;
    const double end = felt_from(&phases->pump_off);
    const stretch early = {fmax(phases->rise.at, full - rising), end, full,
                           full + moments + surge_relaxing, full + moments};
    double ends = -INFINITY, ignored;
    if (phases->held)
        SHOT_TRY(look_over(e, phases, early, early_rate, found, channels, &ends));
    SHOT_TRY(say_if_scale_hangs(e, end, found));
    const stretch brew = {fmax(full, ends), end, ends + surge_relaxing, INFINITY, INFINITY};
    return look_over(e, phases, brew, alarm_rate, found, channels, &ignored);
}

static shot_status look_at_pressure(evidence *e, const shot_phases *phases, double alarm_rate,
                                    shot_findings *found, size_t *channels) {
    if (phases->held)
        SHOT_TRY(look_at_soak(e, phases, 0.4 * alarm_rate, found, channels));
    return isnan(phases->full.at)
               ? SHOT_OK
               : look_at_brew(e, phases, 0.5 * alarm_rate, 0.1 * alarm_rate, found, channels);
}

/* ---- surges for which the pressure was eased off ---- */

static bool is_surge(const shot_mark *mark) {
    return strcmp(mark->kind, "surge") == 0;
}

/* The whole shot bears out what was told at that time, by an onset that may lie before it could be
 * obeyed: until then it is the opening itself that lowers the pressure. */
static bool is_borne_out(const shot_findings *found, double at, const surge_obeyed *obeyed) {
    const double heeded = fmax(obeyed->lowered, obeyed->known);
    for (size_t i = 0; i < found->marks.count; i++) {
        const shot_mark *one = &found->marks.marks[i];
        const double first = isnan(one->from_low) ? one->from : one->from_low;
        if (is_surge(one) && fabs(one->from - at) <= surge_watch.apart && first <= heeded)
            return true;
    }
    return false;
}

/* What seems to open while the pressure falls, and the bed settles, is what easing off did. */
static void drop_surges(shot_findings *found, double from, double to) {
    size_t kept = 0;
    for (size_t i = 0; i < found->marks.count; i++) {
        shot_mark *one = &found->marks.marks[i];
        if (is_surge(one) && one->from > from && one->from < to)
            shot_mark_free(one);
        else
            found->marks.marks[kept++] = *one;
    }
    found->marks.count = kept;
}

static shot_status keep_obeyed(const evidence *e, const shot_phases *phases, const shot_table *shot,
                               const shot_mark *told, double alarm_rate, shot_findings *found,
                               shot_error *error) {
    surge_obeyed it;
    SHOT_TRY(surge_obeyed_find(shot, &e->input.pressure, told->from, felt_from(&phases->pump_off),
                               alarm_rate, &it, error));
    if (!it.stands || is_borne_out(found, told->from, &it))
        return SHOT_OK;
    drop_surges(found, told->from - surge_watch.apart, it.lowered + surge_relaxing);
    return add_surge(&it.one, e, found);
}

/* A program eases off while the puck opens, so that the end of the loss lies where the pressure is
 * lowered on purpose, and the whole shot cannot bear it out. */
static shot_status keep_all_obeyed(const evidence *e, const shot_phases *phases,
                                   const shot_table *shot, double alarm_rate, shot_findings *found,
                                   shot_error *error) {
    const shot_mark_list *marks = &shot->marks;
    for (size_t i = 0; i < marks->count; i++)
        if (is_surge(&marks->marks[i]) && shot_mark_list_stands(marks, i) &&
            shot_mark_id_is_provisional(marks->marks[i].id, "surge"))
            SHOT_TRY(keep_obeyed(e, phases, shot, &marks->marks[i], alarm_rate, found, error));
    return SHOT_OK;
}

static shot_status look(evidence *e, const shot_table *shot, double alarm_rate,
                        shot_findings *found, shot_error *error) {
    shot_phases phases;
    size_t channels = 0;
    double ends;
    SHOT_TRY(shot_phases_find(&e->input, &phases));
    e->meter_lag = shot_meter_lag_at_stop(&e->input.flow, phases.pump_off);
    if (is_blind(e))
        SHOT_TRY(look_over(e, &phases, flowing(&phases), alarm_rate, found, &channels, &ends));
    else
        SHOT_TRY(look_at_pressure(e, &phases, alarm_rate, found, &channels));
    if (channels > 0 && !is_blind(e))
        SHOT_TRY(keep_all_obeyed(e, &phases, shot, alarm_rate, found, error));
    return channels > 0 ? SHOT_OK : say_why(e, &phases, found);
}

static shot_status find(const shot_table *shot, const void *values, shot_findings *found,
                        shot_error *error) {
    const struct surges_settings *settings = values;
    evidence e = {.count = 0};
    shot_status status = shot_phase_input_take(shot, &e.input);
    if (status == SHOT_OK)
        status = look(&e, shot, settings->alarm_rate / 100, found, error);
    shot_phase_input_free(&e.input);
    return status;
}

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    return shot_detector_new_watching(making, &surge_watch, find, out, error);
}

static void latency(const void *settings, char *out, size_t room) {
    (void)settings;
    snprintf(
        out, room,
        "0 s for samples; provisional marks of losses of 20 %% at 10 Hz: six in ten within 1 s "
        "of their onset, three in four at all, nine in ten of these within 1.2 s "
        "(docs/surges.md); final marks at the end of the shot");
}

static const char *const examples[] = {
    "shot-surges shot.csv | shot-marks",
    "shot-clean day.csv | shot-surges --alarm-rate 0.1% | shot-report",
    NULL,
};

const shot_description shot_surges = {
    .name = "surges",
    .purpose = "find sudden losses of the puck's hydraulic resistance",
    .details =
        "A channel through the puck shows as a sudden loss of hydraulic resistance, which is "
        "pressure over flow. Adds a mark 'surge' for each loss of 5 % or more within 0.2 to 2 s "
        "while pressure is steady or falling, judged against the slow trend around it: its "
        "onset, end and size with intervals, and in the note the rise of flow, or the fall of "
        "pressure where the flow is held. Flow that rises because pressure was raised, or lags "
        "after pressure was lowered, a knock on the scale and "
        "a spike are no surges. Needs flow or weight; without pressure a rise of flow by less than "
        "double is told, and the note says that raised pressure would look the same. Samples pass "
        "unchanged.",
    .examples = examples,
    .role = SHOT_ROLE_FILTER,
    .memory = SHOT_MEMORY_SHOT,
    .settings_size = sizeof(struct surges_settings),
    .options = options,
    .make = make,
    .latency = latency,
};
