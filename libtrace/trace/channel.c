/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is known of the usual channels. */
#include <shottrace/trace/channel.h>

#include <string.h>

#include <shottrace/trace/quantity.h>
#include <shottrace/trace/unit.h>

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

/* The known channel whose name and a point start this one; *rest is what follows. */
static const shot_channel_kind *kind_before(const char *name, const char **rest) {
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        const size_t length = strlen(kinds[i].name);
        if (strncmp(name, kinds[i].name, length) != 0 || name[length] != '.')
            continue;
        *rest = name + length + 1;
        return &kinds[i];
    }
    return NULL;
}

static bool is_part(const char *text, size_t length, const char *part) {
    return strlen(part) == length && memcmp(text, part, length) == 0;
}

/* How the time is in what `part` makes of a unit: -2 for a second derivative; false if it is no
 * such part. */
static bool power_of_time(const char *part, size_t length, int *power) {
    *power = is_part(part, length, "int");
    if (length == 2 && part[0] == 'd' && part[1] >= '1' && part[1] <= '9')
        *power = '0' - part[1];
    return *power != 0 || is_part(part, length, "se") || is_part(part, length, "low") ||
           is_part(part, length, "high");
}

shot_status shot_channel_companion_unit(const char *name, char **unit, bool *difference) {
    const char *part;
    const shot_channel_kind *kind = kind_before(name, &part);
    int time = 0;
    *unit = NULL;
    *difference = false;
    if (kind == NULL)
        return SHOT_OK;
    for (size_t length; *part != '\0'; part += length + (part[length] == '.')) {
        int power;
        length = strcspn(part, ".");
        if (!power_of_time(part, length, &power))
            return SHOT_OK;
        time += power;
        *difference = *difference || power != 0 || is_part(part, length, "se");
    }
    return shot_unit_combine(kind->unit, 1, "s", time, unit, NULL);
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
