/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The one table of measures.  Names do not change; new ones may be added. */
#include <shottrace/judge/measure.h>

#include <string.h>

static const shot_measure_kind kinds[] = {
    {"shot.time", SHOT_MEASURE_COURSE, "whole shot", "s",
     "from water entering the basket to the end of the brew"},
    {"preinfusion.time", SHOT_MEASURE_COURSE, "preinfusion", "s",
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
    {"pressure.zero", SHOT_MEASURE_PRESSURE, "before the water", "bar",
     "mean pressure before water enters the basket: the zero of the gauge"},
    {"soak.pressure", SHOT_MEASURE_PRESSURE, "in the soak", "bar", "mean pressure during the soak"},
    {"pressure.peak", SHOT_MEASURE_PRESSURE, "peak", "bar", "highest pressure, as the 0.5 s mean"},
    {"brew.pressure", SHOT_MEASURE_PRESSURE, "in the brew", "bar", "mean pressure during the brew"},
    {"brew.pressure.slope", SHOT_MEASURE_PRESSURE, "slope in the brew", "bar/s",
     "slope of the pressure during the brew"},
    {"brew.pressure.steadiness", SHOT_MEASURE_PRESSURE, "scatter about that slope", "bar",
     "standard deviation about the line through the brew"},
    {"fill.flow", SHOT_MEASURE_FLOW, "flow in the fill", "ml/s",
     "mean flow of water during the fill"},
    {"brew.flow", SHOT_MEASURE_FLOW, "flow in the brew", "ml/s",
     "mean flow of water during the brew"},
    {"brew.flow.slope", SHOT_MEASURE_FLOW, "slope of the flow", "ml/s2",
     "slope of the flow during the brew"},
    {"brew.outflow", SHOT_MEASURE_FLOW, "beverage a second", "g/s",
     "mean rate at which the beverage gained weight during the brew"},
    {"resistance.start", SHOT_MEASURE_FLOW, "resistance, start of brew", "bar.s/ml",
     "hydraulic resistance in the first 2 s of the brew"},
    {"resistance.least", SHOT_MEASURE_FLOW, "resistance, least", "bar.s/ml",
     "least hydraulic resistance of any 2 s of the brew"},
    {"resistance.end", SHOT_MEASURE_FLOW, "resistance, end of brew", "bar.s/ml",
     "hydraulic resistance in the last 2 s of the brew"},
    {"dose", SHOT_MEASURE_CUP, "dose", "g", "dry coffee, from # dose:"},
    {"beverage.mass", SHOT_MEASURE_CUP, "beverage", "g",
     "beverage on the scale at the end of the log"},
    {"brew.ratio", SHOT_MEASURE_CUP, "beverage over dose", "", "beverage mass over dose"},
    {"water.used", SHOT_MEASURE_CUP, "water used", "ml", "water that entered the basket"},
    {"brew.temperature", SHOT_MEASURE_CUP, "water temperature", "degC",
     "mean temperature during the brew"},
    {"tds", SHOT_MEASURE_CUP, "dissolved solids", "%",
     "dissolved solids of the beverage, from # tds:"},
    {"extraction.yield", SHOT_MEASURE_CUP, "extraction yield", "%",
     "beverage mass times dissolved solids over dose"},
    {"score", SHOT_MEASURE_CUP, "score", "", "the person's own score, from # score:"},
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
