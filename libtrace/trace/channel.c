/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is known of the usual channels. */
#include <shottrace/trace/channel.h>

#include <string.h>

#include <shottrace/trace/quantity.h>

/* The ranges are `common practice, no source`: generous bounds of what such a sensor can show. */
static const shot_channel_kind kinds[] = {
    {"time", "s", -1e15, 1e15, "time since the log's origin"},
    {"pressure", "bar", -5, 25, "gauge pressure"},
    {"flow", "ml/s", -20, 50, "water into the basket"},
    {"outflow", "g/s", -20, 50, "beverage at the spout"},
    {"weight", "g", -2000, 3000, "beverage on the scale"},
    {"temperature", "degC", -20, 160, "brewing water"},
    {"water", "ml", -100, 5000, "water used"},
    {"wanted.pressure", "bar", -5, 25, "pressure that the machine was asked for"},
    {"wanted.flow", "ml/s", -20, 50, "flow that the machine was asked for"},
};

const shot_channel_kind *shot_channel_kinds(size_t *count) {
    *count = sizeof kinds / sizeof *kinds;
    return kinds;
}

const shot_channel_kind *shot_channel_kind_of(const char *name) {
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        if (strcmp(kinds[i].name, name) == 0)
            return &kinds[i];
    return NULL;
}

bool shot_channel_is_measured(const char *name) {
    return strcmp(name, "time") != 0 && strncmp(name, "wanted.", 7) != 0 &&
           shot_channel_kind_of(name) != NULL;
}

/* The usual other units of each kind of quantity, the commonest first. */
static const char *const others[] = {"psi",  "kPa", "mbar", "Pa", "ml/min", "ul/s", "g/min",
                                     "mg/s", "mg",  "degF", "K",  "l",      "ul"};

const char *shot_channel_likely_unit(const shot_channel_kind *kind, double value) {
    for (size_t i = 0; i < sizeof others / sizeof *others; i++) {
        shot_conversion into;
        if (shot_unit_convert(others[i], kind->unit, &into, NULL) != SHOT_OK)
            continue;
        double converted = shot_conversion_apply(&into, value);
        if (converted >= kind->low && converted <= kind->high)
            return others[i];
    }
    return NULL;
}
