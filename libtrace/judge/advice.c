/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What to try next.  The thresholds are common practice, no source; each rule speaks only where the
 * whole interval of its figure is beyond its threshold, so that it is not moved by noise. */
#include <shottrace/judge/advice.h>

#include <math.h>

static double value_of(const shot_measure_list *list, const char *name) {
    const shot_measure *one = shot_measure_list_find(list, name);
    return one ? one->value : NAN;
}

/* The ends of a measure's interval, or its value where it has none. */
static double least_of(const shot_measure_list *list, const char *name) {
    const shot_measure *one = shot_measure_list_find(list, name);
    return one == NULL ? NAN : isfinite(one->low) ? one->low : one->value;
}

static double most_of(const shot_measure_list *list, const char *name) {
    const shot_measure *one = shot_measure_list_find(list, name);
    return one == NULL ? NAN : isfinite(one->high) ? one->high : one->value;
}

/* Flow in the brew: of the beverage, or of the water where there is no scale. */
static const char *flow_name(const shot_measure_list *list) {
    return shot_measure_list_find(list, "brew.outflow") ? "brew.outflow" : "brew.flow";
}

static shot_status choked(const shot_measure_list *list, shot_text *out) {
    const char *flow = flow_name(list);
    if (!(most_of(list, flow) < 0.5) || !(value_of(list, "brew.time") > 15))
        return SHOT_OK;
    return shot_text_add_format(out,
                                "Hardly anything flowed (%.2g %s in the brew): grind coarser, or "
                                "dose less.",
                                value_of(list, flow), shot_measure_kind_named(flow)->unit);
}

static shot_status gushing(const shot_measure_list *list, shot_text *out) {
    const char *flow = flow_name(list);
    if (!(least_of(list, flow) > 3.5))
        return SHOT_OK;
    return shot_text_add_format(out,
                                "It ran very fast (%.2g %s in the brew): grind finer, or dose "
                                "more.",
                                value_of(list, flow), shot_measure_kind_named(flow)->unit);
}

static shot_status channelled(const shot_measure_list *list, shot_text *out) {
    if (!(value_of(list, "surge.count") >= 1))
        return SHOT_OK;
    double first = value_of(list, "surge.first"), loss = value_of(list, "surge.loss");
    SHOT_TRY(shot_text_add(out, "The puck channelled"));
    if (isfinite(first))
        SHOT_TRY(shot_text_add_format(out, " %.1f s after the water came", first));
    if (isfinite(loss))
        SHOT_TRY(shot_text_add_format(out, ", and lost %.0f %% of its resistance", loss));
    return shot_text_add(out, ": let the pressure fall from just before that time, or brew at a "
                              "lower one; a slightly coarser grind and a more even bed help too.");
}

static shot_status pulses_let_go(const shot_measure_list *list, shot_text *out) {
    if (!(value_of(list, "pulse.count") >= 2) || !(value_of(list, "pulse.lowest") < 0.5))
        return SHOT_OK;
    return shot_text_add_format(out,
                                "Between pulses the pressure went down to %.2g bar and the bed "
                                "could move: keep a little pressure on (a soak) instead.",
                                value_of(list, "pulse.lowest"));
}

static shot_status early_drops(const shot_measure_list *list, shot_text *out) {
    if (!(most_of(list, "first-drip.time") < 4.5))
        return SHOT_OK;
    return shot_text_add_format(out,
                                "The first drop came after %.1f s, far before the 6 to 8 s of a "
                                "restricted nine-bar machine: grind finer, or wet the puck more "
                                "slowly.",
                                value_of(list, "first-drip.time"));
}

static shot_status pressed_while_dry(const shot_measure_list *list, shot_text *out) {
    double wait = least_of(list, "first-drip.time") - most_of(list, "preinfusion.time");
    if (!(wait > 1))
        return SHOT_OK;
    return shot_text_add_format(
        out,
        "The puck had its full pressure %.1f s before the first drop: a longer pre-wetting at 1 to "
        "3 bar would wet it through first.",
        value_of(list, "first-drip.time") - value_of(list, "preinfusion.time"));
}

static shot_status unsteady(const shot_measure_list *list, shot_text *out) {
    if (!(value_of(list, "brew.pressure.steadiness") > 0.4) ||
        !(fabs(value_of(list, "brew.pressure.slope")) < 0.05) ||
        shot_measure_list_find(list, "brew.pressure.step") != NULL)
        return SHOT_OK;
    return shot_text_add_format(out,
                                "The pressure wandered by %.1f bar in the brew: before changing "
                                "anything else, see whether two equal shots agree.",
                                value_of(list, "brew.pressure.steadiness"));
}

#define TRADE "common practice, no source"

static const shot_advice_rule rules[] = {
    {"choked", TRADE, choked},
    {"gushing", TRADE, gushing},
    {"channelled", TRADE, channelled},
    {"pulses let go", TRADE, pulses_let_go},
    {"early drops", TRADE, early_drops},
    {"pressed while dry", TRADE, pressed_while_dry},
    {"unsteady pressure", TRADE, unsteady},
};

const shot_advice_rule *shot_advice_rules(size_t *count) {
    *count = sizeof rules / sizeof *rules;
    return rules;
}

shot_status shot_advice_write(const shot_measure_list *measures, size_t most, shot_text *out) {
    size_t given = 0;
    for (size_t i = 0; i < sizeof rules / sizeof *rules && given < most; i++) {
        size_t before = out->length;
        SHOT_TRY(rules[i].advise(measures, out));
        if (out->length == before)
            continue;
        given++;
        SHOT_TRY(shot_text_add(out, "\n"));
    }
    return SHOT_OK;
}
