/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-smooth: channels without their noise. */
#include <shottrace/filter/smooth.h>

#include <stdio.h>

#include "filter/fit_kernel.h"
#include "filter/median_kernel.h"

enum { METHOD_SAVGOL, METHOD_MEDIAN };

struct smooth_settings {
    shot_texts channels;
    shot_span window;
    long order;
    int method;
    bool taper, fill, errors;
};

static const shot_option options[] = {
    {.letter = 'c',
     .name = "channel",
     .kind = SHOT_OPTION_LIST,
     .argument = "NAME,...",
     .field = offsetof(struct smooth_settings, channels),
     .help = "the channels to smooth; without it all measured ones that are known"},
    {.letter = 'w',
     .name = "window",
     .kind = SHOT_OPTION_SPAN,
     .argument = "LENGTH",
     .initial = "0.7s",
     .low = 1e-9,
     .high = 1e9,
     .field = offsetof(struct smooth_settings, window),
     .help = "length of the window, a time (0.7s) or an odd count of samples (11)"},
    {.letter = 'o',
     .name = "order",
     .kind = SHOT_OPTION_COUNT,
     .argument = "N",
     .initial = "2",
     .low = 0,
     .high = 20,
     .field = offsetof(struct smooth_settings, order),
     .help = "order of the polynomial"},
    {.letter = 'm',
     .name = "method",
     .kind = SHOT_OPTION_CHOICE,
     .argument = "NAME",
     .choices = "savgol|median",
     .initial = "savgol",
     .field = offsetof(struct smooth_settings, method),
     .help = "savgol: a polynomial fitted in the window; median: the median of the window"},
    {.letter = 'f',
     .name = "fill",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(struct smooth_settings, fill),
     .help = "give missing samples the smoothed value where the window has samples on both sides"},
    {.name = "taper",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(struct smooth_settings, taper),
     .help = "let samples count less towards the edges of the window (tricube)"},
    {.letter = 'e',
     .name = "errors",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(struct smooth_settings, errors),
     .help = "add the standard error of each smoothed channel, NAME.se"},
    {0}};

static shot_status fit_rule_of(const struct smooth_settings *settings, shot_running_fit_rule *rule,
                               shot_error *error) {
    *rule = (shot_running_fit_rule){
        .order = (size_t)settings->order,
        .tapered = settings->taper,
        .fill = settings->fill,
    };
    SHOT_TRY(fit_kernel_reach(&settings->window, &rule->reach, error));
    return fit_kernel_check(rule, error);
}

static shot_status make_kernel(const void *settings, channel_kernel *out) {
    const struct smooth_settings *s = settings;
    shot_running_fit_rule rule;
    shot_reach reach;
    if (s->method == METHOD_MEDIAN) {
        SHOT_TRY(fit_kernel_reach(&s->window, &reach, NULL));
        return median_kernel_new(reach, s->fill, out);
    }
    SHOT_TRY(fit_rule_of(s, &rule, NULL));
    return fit_kernel_new(&rule, out);
}

static shot_status check(const struct smooth_settings *settings, shot_error *error) {
    shot_running_fit_rule rule;
    shot_reach reach;
    if (settings->method == METHOD_SAVGOL)
        return fit_rule_of(settings, &rule, error);
    if (settings->taper || settings->errors)
        return shot_fail(error, SHOT_ERR_USAGE, "--%s: only with --method savgol",
                         settings->taper ? "taper" : "errors");
    return fit_kernel_reach(&settings->window, &reach, error);
}

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    const struct smooth_settings *settings = making->settings;
    *out = NULL;
    SHOT_TRY(check(settings, error));
    return by_channel_new(making,
                          &(by_channel_rule){.filter = "smooth",
                                             .channels = &settings->channels,
                                             .errors = settings->errors,
                                             .why_none = "too few in the window",
                                             .make = make_kernel},
                          out, error);
}

static void latency(const void *settings, char *out, size_t room) {
    fit_kernel_latency(&((const struct smooth_settings *)settings)->window, out, room);
}

static const char *const examples[] = {
    "shot-resample --rate 20 < shot.csv | shot-smooth --window 0.7s",
    "shot-smooth --channel pressure,flow --window 11 --order 3 --errors < shot.csv",
    NULL,
};

const shot_description shot_smooth = {
    .name = "smooth",
    .purpose = "take noise off channels",
    .details =
        "savgol fits a polynomial by least squares to the samples in a window around each row, on "
        "their true times, and takes its value there; on even times this is the Savitzky-Golay "
        "filter. Within half a window of the ends it is the polynomial of the first or last full "
        "window; nothing is padded. median keeps edges and drops spikes; near the ends its window "
        "is what is left of it.\n"
        "A missing sample stays missing unless --fill; a sample with too few neighbours in the "
        "window for the order becomes missing, and so does a shot shorter than the window. A note "
        "says how many. The noise that was there before is written as '# noise:'.\n"
        "Standard errors (--errors) come from that noise, a '# noise:' line or else an estimate "
        "for which the shot is held to its end; that a window is too long for a bend is not in "
        "them.",
    .examples = examples,
    .role = SHOT_ROLE_FILTER,
    .memory = SHOT_MEMORY_WINDOW,
    .settings_size = sizeof(struct smooth_settings),
    .options = options,
    .make = make,
    .latency = latency,
};
