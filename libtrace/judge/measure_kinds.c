/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The one table of measures.  Names do not change; new ones may be added. */
#include <shottrace/judge/measure.h>

#include <string.h>

static const shot_measure_kind kinds[] = {
    /* course */
    {"shot.time", "s", "from water entering the basket to the end of the brew"},
    {"preinfusion.time", "s", "from water entering the basket to the brewing pressure at the puck"},
    {"preinfusion.share", "%", "part of the shot's time that is preinfusion"},
    {"preinfusion.water", "ml", "water that entered the basket during preinfusion"},
    {"preinfusion.water-share", "%", "part of the shot's water that entered during preinfusion"},
    {"fill.time", "s", "length of the fill"},
    {"soak.time", "s", "length of the soak"},
    {"ramp.time", "s", "length of the main rise"},
    {"brew.time", "s", "length of the brew"},
    {"release.time", "s", "from the end of the brew to under 0.5 bar"},
    {"first-drip.time", "s", "from water entering the basket to the first drop"},
    /* pressure */
    {"soak.pressure", "bar", "mean pressure during the soak"},
    {"pressure.peak", "bar", "highest pressure, as the 0.5 s mean"},
    {"brew.pressure", "bar", "mean pressure during the brew"},
    {"brew.pressure.slope", "bar/s", "slope of the pressure during the brew"},
    {"brew.pressure.steadiness", "bar", "standard deviation about the line through the brew"},
    /* flow and resistance */
    {"brew.flow", "ml/s", "mean flow of water during the brew"},
    {"brew.flow.slope", "ml/s2", "slope of the flow during the brew"},
    {"brew.outflow", "g/s", "mean rate at which the beverage gained weight during the brew"},
    {"resistance.start", "bar.s/ml", "hydraulic resistance in the first 2 s of the brew"},
    {"resistance.least", "bar.s/ml", "least hydraulic resistance of any 2 s of the brew"},
    {"resistance.end", "bar.s/ml", "hydraulic resistance in the last 2 s of the brew"},
    /* cup */
    {"dose", "g", "dry coffee, from # dose:"},
    {"beverage.mass", "g", "beverage on the scale at the end of the log"},
    {"brew.ratio", "", "beverage mass over dose"},
    {"water.used", "ml", "water that entered the basket"},
    {"brew.temperature", "degC", "mean temperature during the brew"},
    {"tds", "%", "dissolved solids of the beverage, from # tds:"},
    {"extraction.yield", "%", "beverage mass times dissolved solids over dose"},
    {"score", "", "the person's own score, from # score:"},
    /* findings */
    {"final-rise.time", "s", "from water entering the basket to the final rise of pressure"},
    {"final-rise.size", "bar", "height of the final rise"},
    {"knee.count", "", "slope breaks found"},
    {"surge.count", "", "surges found"},
    {"surge.loss", "%", "hydraulic resistance lost in all surges together"},
    {"surge.first", "s", "from water entering the basket to the first surge"},
    {"pulse.count", "", "pump pulses before the main rise"},
    {"pulse.period", "s", "mean time from pulse to pulse"},
    {"pulse.duty", "%", "part of the pulsed time with the pump on"},
    {"pulse.lowest", "bar", "lowest pressure between pulses"},
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
