/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The one table of measures.  Names do not change; new ones may be added. */
#include <shottrace/judge/measure.h>

#include <math.h>
#include <string.h>

static const shot_measure_kind kinds[] = {
    {"shot.time", SHOT_MEASURE_COURSE, "whole shot", "s",
     "from water entering the basket to the end of the brew"},
    {"preinfusion.time", SHOT_MEASURE_COURSE, "preinfusion, to full pressure", "s",
     "from water entering the basket to the brewing pressure at the puck"},
    {"preinfusion.share", SHOT_MEASURE_COURSE, "preinfusion, part of the time", "%",
     "part of the shot's time that is preinfusion"},
    {"preinfusion.water", SHOT_MEASURE_COURSE, "water during preinfusion", "ml",
     "water that entered the basket during preinfusion"},
    {"preinfusion.water-share", SHOT_MEASURE_COURSE, "preinfusion, part of the water", "%",
     "part of the shot's water that entered during preinfusion"},
    {"fill.time", SHOT_MEASURE_COURSE, "fill", "s", "length of the fill"},
    {"soak.time", SHOT_MEASURE_COURSE, "soak", "s", "length of the soak"},
    {"ramp.time", SHOT_MEASURE_COURSE, "main rise", "s", "length of the main rise"},
    {"brew.time", SHOT_MEASURE_COURSE, "brew", "s", "length of the brew"},
    {"release.time", SHOT_MEASURE_COURSE, "release", "s",
     "from the end of the brew to under 0.5 bar"},
    {"first-drip.time", SHOT_MEASURE_COURSE, "first drop after", "s",
     "from water entering the basket to the first drop"},
    {"preinfusion.clock", SHOT_MEASURE_COURSE, "water met the coffee at", "s",
     "water entering the basket, on the log's own clock less its # t0:"},
    {"first-drip.clock", SHOT_MEASURE_COURSE, "first drop at", "s",
     "the first drop on the log's own clock less its # t0:, where nothing tells when the water "
     "came"},
    {"stream.time", SHOT_MEASURE_COURSE, "stream", "s",
     "from the first drop until 95 % of the beverage was in the cup, without phases"},
    {"pressure.zero", SHOT_MEASURE_PRESSURE, "before the water", "bar",
     "mean pressure before water enters the basket: the zero of the gauge"},
    {"soak.pressure", SHOT_MEASURE_PRESSURE, "in the soak", "bar", "mean pressure during the soak"},
    {"pressure.peak", SHOT_MEASURE_PRESSURE, "peak", "bar", "highest pressure, as the 0.5 s mean"},
    {"brew.pressure", SHOT_MEASURE_PRESSURE, "in the brew", "bar", "mean pressure during the brew"},
    {"brew.pressure.slope", SHOT_MEASURE_PRESSURE, "slope in the brew", "bar/s",
     "slope of the pressure during the brew"},
    {"brew.pressure.steadiness", SHOT_MEASURE_PRESSURE, "scatter about that slope", "bar",
     "standard deviation about the line through the brew"},
    {"brew.pressure.step", SHOT_MEASURE_PRESSURE, "step in the brew", "bar",
     "step from one level of pressure to another, where the brew is stepped"},
    {"brew.pressure.step-time", SHOT_MEASURE_PRESSURE, "step after", "s",
     "from water entering the basket to that step"},
    {"brew.pressure.bend", SHOT_MEASURE_PRESSURE, "change beside what is held", "bar",
     "change of the pressure in the brew beside the part that is held, where it has both"},
    {"brew.pressure.bend-time", SHOT_MEASURE_PRESSURE, "bend after", "s",
     "from water entering the basket to where the one part goes over into the other"},
    {"wanted.pressure.deviation", SHOT_MEASURE_WANTED, "pressure, deviation", "bar",
     "root mean square of pressure less wanted pressure, from water in to the end of the brew"},
    {"wanted.pressure.bias", SHOT_MEASURE_WANTED, "pressure, mean difference", "bar",
     "mean of pressure less wanted pressure over the same time"},
    {"wanted.pressure.overshoot", SHOT_MEASURE_WANTED, "pressure, overshoot", "bar",
     "greatest excess over the wanted level after its main rise, as the 0.5 s mean"},
    {"wanted.pressure.settling", SHOT_MEASURE_WANTED, "pressure, settling", "s",
     "from the end of the wanted main rise until pressure stays within 5 % of the wanted level"},
    {"wanted.flow.deviation", SHOT_MEASURE_WANTED, "flow, deviation", "ml/s",
     "root mean square of flow less wanted flow, from water in to the end of the brew"},
    {"wanted.flow.bias", SHOT_MEASURE_WANTED, "flow, mean difference", "ml/s",
     "mean of flow less wanted flow over the same time"},
    {"wanted.flow.overshoot", SHOT_MEASURE_WANTED, "flow, overshoot", "ml/s",
     "greatest excess over the wanted level after its main rise, as the 0.5 s mean"},
    {"wanted.flow.settling", SHOT_MEASURE_WANTED, "flow, settling", "s",
     "from the end of the wanted main rise until flow stays within 5 % of the wanted level"},
    {"fill.flow", SHOT_MEASURE_FLOW, "flow in the fill", "ml/s",
     "mean flow of water during the fill"},
    {"brew.flow", SHOT_MEASURE_FLOW, "flow in the brew", "ml/s",
     "mean flow of water during the brew"},
    {"brew.flow.slope", SHOT_MEASURE_FLOW, "slope of the flow", "ml/s2",
     "slope of the flow during the brew"},
    {"brew.outflow", SHOT_MEASURE_FLOW, "beverage a second", "g/s",
     "mean rate at which the beverage gained weight during the brew"},
    {"stream.outflow", SHOT_MEASURE_FLOW, "beverage a second, stream", "g/s",
     "mean rate at which the beverage gained weight during stream.time"},
    {"resistance.start", SHOT_MEASURE_FLOW, "resistance, start of brew", "bar.s/ml",
     "hydraulic resistance in the first 2 s of the brew"},
    {"resistance.least", SHOT_MEASURE_FLOW, "resistance, least", "bar.s/ml",
     "least hydraulic resistance of any 2 s of the brew"},
    {"resistance.end", SHOT_MEASURE_FLOW, "resistance, end of brew", "bar.s/ml",
     "hydraulic resistance in the last 2 s of the brew"},
    {"resistance.trend", SHOT_MEASURE_FLOW, "resistance, change", "%/s",
     "relative change of hydraulic resistance a second during the brew, beside the surges"},
    {"dose", SHOT_MEASURE_CUP, "dose", "g", "dry coffee, from # dose:"},
    {"beverage.mass", SHOT_MEASURE_CUP, "beverage", "g",
     "beverage on the scale at the end of the log, less what a hand did to it"},
    {"brew.ratio", SHOT_MEASURE_CUP, "beverage over dose", "", "beverage mass over dose"},
    {"water.used", SHOT_MEASURE_CUP, "water used", "ml", "water that entered the basket"},
    {"brew.temperature", SHOT_MEASURE_CUP, "water temperature", "degC",
     "mean temperature during the brew"},
    {"tds", SHOT_MEASURE_CUP, "dissolved solids", "%",
     "dissolved solids of the beverage, from # tds:"},
    {"extraction.yield", SHOT_MEASURE_CUP, "extraction yield", "%",
     "beverage mass times dissolved solids over dose"},
    {"score", SHOT_MEASURE_CUP, "score", "", "the person's own score, from # score:"},
    {"model.wet-through", SHOT_MEASURE_MODEL, "puck wet through after", "s",
     "from water entering the basket until the puck has taken up what it holds"},
    {"model.yield", SHOT_MEASURE_MODEL, "extraction yield", "%",
     "extraction yield by the brew ratio, where dissolved solids were not measured"},
    {"model.early-solids", SHOT_MEASURE_MODEL, "washed out before pressure", "g",
     "solids in the beverage that had left the spout when preinfusion ended"},
    {"final-rise.time", SHOT_MEASURE_FINDINGS, "final rise after", "s",
     "from water entering the basket to the final rise of pressure"},
    {"final-rise.size", SHOT_MEASURE_FINDINGS, "final rise, height", "bar",
     "height of the final rise"},
    {"knee.count", SHOT_MEASURE_FINDINGS, "knees", "", "slope breaks found"},
    {"surge.count", SHOT_MEASURE_FINDINGS, "surges", "", "surges found"},
    {"surge.loss", SHOT_MEASURE_FINDINGS, "resistance lost in surges", "%",
     "hydraulic resistance lost in all surges together"},
    {"surge.first", SHOT_MEASURE_FINDINGS, "first surge after", "s",
     "from water entering the basket to the first surge"},
    {"ripple.rate", SHOT_MEASURE_FINDINGS, "ripple", "Hz",
     "rate of the pump's ripple, as shot-spectrum found it"},
    {"pulse.count", SHOT_MEASURE_FINDINGS, "pump pulses", "", "pump pulses before the main rise"},
    {"pulse.period", SHOT_MEASURE_FINDINGS, "pulse period", "s", "mean time from pulse to pulse"},
    {"pulse.duty", SHOT_MEASURE_FINDINGS, "pulse duty", "%",
     "part of the pulsed time with the pump on"},
    {"pulse.lowest", SHOT_MEASURE_FINDINGS, "lowest between pulses", "bar",
     "lowest pressure between pulses"},
    {"pulse.water", SHOT_MEASURE_FINDINGS, "water in pulses", "ml",
     "water that entered while the pulses ran, all together"},
    {"pulse.peak", SHOT_MEASURE_FINDINGS, "highest in pulses", "bar",
     "highest pressure in a pulse, as the 0.5 s mean"},
    {"pulse.halving", SHOT_MEASURE_FINDINGS, "pressure halved after", "s",
     "mean time from the end of a pulse until its pressure had halved"},
    {"pulled.clock", SHOT_MEASURE_COURSE, "pulled at", "s",
     "when the shot was pulled: since 1970-01-01 00:00, of UTC where the log says the zone"},
};

const shot_measure_kind *shot_measure_kinds(size_t *count) {
    *count = sizeof kinds / sizeof *kinds;
    return kinds;
}

const shot_measure_kind *shot_measure_kind_named(const char *name) {
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        if (strcmp(kinds[i].name, name) == 0)
            return &kinds[i];
    return NULL;
}

/* Slopes, differences, and what a gauge reads, whose own zero may be off. */
static const char *const below_zero[] = {
    "preinfusion.clock",  "first-drip.clock",      "pressure.zero",
    "soak.pressure",      "brew.pressure.slope",   "brew.pressure.step",
    "brew.pressure.bend", "wanted.pressure.bias",  "wanted.pressure.overshoot",
    "wanted.flow.bias",   "wanted.flow.overshoot", "brew.flow.slope",
    "resistance.trend",   "brew.temperature",      "score",
    "pulse.lowest"};

double shot_measure_least(const char *name) {
    for (size_t i = 0; i < sizeof below_zero / sizeof *below_zero; i++)
        if (strcmp(below_zero[i], name) == 0)
            return -INFINITY;
    return shot_measure_kind_named(name) != NULL ? 0 : -INFINITY;
}

bool shot_measure_is_clock(const char *name) {
    const char *last = strrchr(name, '.');
    return last != NULL && strcmp(last, ".clock") == 0;
}

shot_status shot_measure_kind_add_label(const shot_measure_kind *kind, shot_text *out) {
    return shot_text_add_format(
        out, "%s%s", kind->group == SHOT_MEASURE_PRESSURE ? "pressure, " : "", kind->label);
}

/* More would be a list to search through. */
enum { MOST_GUESSES = 6 };

static bool may_be_meant(const shot_measure_kind *kind, const char *name) {
    shot_text label = {0};
    bool called =
        shot_measure_kind_add_label(kind, &label) == SHOT_OK && strcmp(label.bytes, name) == 0;
    shot_text_free(&label);
    return called || strcmp(kind->label, name) == 0 || strstr(kind->name, name) != NULL;
}

shot_status shot_measure_unknown(const char *name, shot_error *error) {
    shot_text words = {0};
    size_t count = 0;
    shot_status status = shot_text_add(&words, "");
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds && status == SHOT_OK; i++)
        if (*name != '\0' && count < MOST_GUESSES && may_be_meant(&kinds[i], name))
            status = shot_text_add_format(&words, "%s%s", count++ > 0 ? ", " : "; meant may be ",
                                          kinds[i].name);
    if (status == SHOT_OK)
        status = shot_fail(
            error, SHOT_ERR_DATA, "no shot has a measure or a number '%s'%s", name,
            count > 0 ? words.bytes : "; shot-report --format csv prints the names that there are");
    shot_text_free(&words);
    return status;
}
