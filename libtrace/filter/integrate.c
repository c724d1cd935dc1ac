/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-integrate: running integrals as channels of their own. */
#include <shottrace/filter/integrate.h>

#include <math.h>
#include <stdio.h>

#include "filter/integral_kernel.h"
#include "filter/standard_errors.h"

enum { RULE_TRAPEZOID, RULE_CUBIC };
enum { GAP_BRIDGE, GAP_BREAK };

struct integrate_settings {
    shot_texts channels;
    int rule, gap;
    shot_span max_gap;
    bool errors;
};

static const shot_option options[] = {
    {.letter = 'c',
     .name = "channel",
     .kind = SHOT_OPTION_LIST,
     .argument = "NAME,...",
     .field = offsetof(struct integrate_settings, channels),
     .help = "the channels to integrate; needed"},
    {.letter = 'r',
     .name = "rule",
     .kind = SHOT_OPTION_CHOICE,
     .argument = "NAME",
     .choices = "trapezoid|cubic",
     .initial = "trapezoid",
     .field = offsetof(struct integrate_settings, rule),
     .help = "trapezoid: exact for straight lines; cubic: exact for polynomials up to degree 3, "
             "for smooth channels"},
    {.letter = 'g',
     .name = "max-gap",
     .kind = SHOT_OPTION_SPAN,
     .argument = "LENGTH",
     .initial = "5",
     .low = 0,
     .high = 1e9,
     .field = offsetof(struct integrate_settings, max_gap),
     .help =
         "the longest interval between two samples of a channel that is no gap: a time (2s), or "
         "a multiple of the channel's usual interval (5); 0 knows no gaps"},
    {.name = "at-gap",
     .kind = SHOT_OPTION_CHOICE,
     .argument = "WHAT",
     .choices = "bridge|break",
     .initial = "break",
     .field = offsetof(struct integrate_settings, gap),
     .help = "break: the integral is missing after a gap, since nobody knows what passed in it; "
             "bridge: follow the straight line over it. Either leaves a mark"},
    {.letter = 'e',
     .name = "errors",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(struct integrate_settings, errors),
     .help = "add the standard error of each integral, NAME.int.se"},
    {0}};

static shot_status make_kernel(const void *settings, channel_kernel *out) {
    const struct integrate_settings *s = settings;
    const shot_integral_rule rule = {
        .degree = s->rule == RULE_CUBIC ? 3 : 1,
        .bridge = s->gap == GAP_BRIDGE,
    };
    return integral_kernel_new(&rule, &s->max_gap, out);
}

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    const struct integrate_settings *settings = making->settings;
    *out = NULL;
    if (settings->channels.count == 0)
        return shot_fail(error, SHOT_ERR_USAGE, "name the channels to integrate with --channel");
    return by_channel_new(
        making,
        &(by_channel_rule){.filter = "integrate",
                           .channels = &settings->channels,
                           .suffix = ".int",
                           .seconds = 1,
                           .errors = settings->errors,
                           .why_none = "they come after a gap (--at-gap bridge)",
                           .gap_note = settings->gap == GAP_BRIDGE
                                           ? "bridged by a straight line in the integral"
                                           : "the integral is unknown from here on",
                           .make = make_kernel},
        out, error);
}

static void latency(const void *settings, char *out, size_t room) {
    const struct integrate_settings *s = settings;
    if (s->errors)
        standard_errors_latency(out, room);
    else
        snprintf(out, room, "%s%s of the slowest channel",
                 s->rule == RULE_CUBIC ? "1 sample" : "0 samples",
                 s->max_gap.samples && s->max_gap.length > 0 ? ", at the start 9," : "");
}

static const char *const examples[] = {
    "shot-integrate --channel flow < shot.csv",
    "shot-derive shot.csv | shot-integrate --channel outflow --at-gap bridge",
    NULL,
};

const shot_description shot_integrate = {
    .name = "integrate",
    .purpose = "running integrals of channels, as channels of their own",
    .details =
        "Adds the integral from a channel's first sample to each other: flow [ml/s] gives flow.int "
        "[ml]. trapezoid joins the samples by straight lines; cubic takes, over each interval, the "
        "cubic through the four samples about it (Gill & Miller 1972), on uneven times too. Where "
        "a sample is missing so is the integral; the next one counts the time between.\n"
        "Standard errors (--errors) come from the noise of the channel, a '# noise:' line or else "
        "an estimate for which the shot is held to its end; a wrong zero of the sensor, which "
        "grows with time, is not in them.",
    .examples = examples,
    .role = SHOT_ROLE_FILTER,
    .memory = SHOT_MEMORY_WINDOW,
    .settings_size = sizeof(struct integrate_settings),
    .options = options,
    .make = make,
    .latency = latency,
};
