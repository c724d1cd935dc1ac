/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-smooth: channels without their noise. */
#include <shottrace/filter/smooth.h>

#include <math.h>
#include <stdio.h>

#include "filter/cutoff_kernel.h"
#include "filter/fit_kernel.h"
#include "filter/fit_options.h"
#include "filter/lowpass_kernel.h"
#include "filter/median_kernel.h"
#include "filter/standard_errors.h"

enum { METHOD_SAVGOL, METHOD_MEDIAN, METHOD_LOWPASS };

struct smooth_settings {
    shot_texts channels;
    shot_span window;
    double cutoff;
    long order;
    int method;
    bool taper, fill, errors;
};

static const shot_option options[] = {
    FIT_OPTION_CHANNELS(struct smooth_settings, "smooth"),
    FIT_OPTION_WINDOW(struct smooth_settings, "!cutoff"),
    {.name = "cutoff",
     .kind = SHOT_OPTION_QUANTITY,
     .argument = "FREQUENCY",
     .unit = "Hz",
     .low = 1e-9,
     .high = 1e9,
     .field = offsetof(struct smooth_settings, cutoff),
     .only = "method=savgol|method=lowpass",
     .help = "what passes: half of the power at this frequency; picks the window of savgol, and "
             "lowpass needs it"},
    {.letter = 'o',
     .name = "order",
     .kind = SHOT_OPTION_COUNT,
     .argument = "N",
     .initial = "2",
     .low = 0,
     .high = 20,
     .field = offsetof(struct smooth_settings, order),
     .only = "method=savgol|method=lowpass",
     .help = "order of the polynomial, or of the low-pass"},
    {.letter = 'm',
     .name = "method",
     .kind = SHOT_OPTION_CHOICE,
     .argument = "NAME",
     .choices = "savgol|median|lowpass",
     .initial = "savgol",
     .field = offsetof(struct smooth_settings, method),
     .help = "savgol: a polynomial fitted in the window; median: the median of the window; "
             "lowpass: Butterworth, forward and backward, over the whole shot"},
    {.letter = 'f',
     .name = "fill",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(struct smooth_settings, fill),
     .only = "method=savgol|method=median",
     .help = "give missing samples the smoothed value where the window has samples on both sides"},
    FIT_OPTION_TAPER(struct smooth_settings, "method=savgol"),
    FIT_OPTION_ERRORS(struct smooth_settings, "method=savgol|method=lowpass",
                      "smoothed channel, NAME.se"),
    {0}};

static bool has_cutoff(const struct smooth_settings *settings) {
    return !isnan(settings->cutoff);
}

static shot_status fit_rule_of(const struct smooth_settings *settings, shot_running_fit_rule *rule,
                               shot_error *error) {
    *rule = (shot_running_fit_rule){
        .order = (size_t)settings->order,
        .tapered = settings->taper,
        .fill = settings->fill,
    };
    if (has_cutoff(settings))
        return SHOT_OK;
    SHOT_TRY(fit_kernel_reach(&settings->window, &rule->reach, error));
    return fit_kernel_check(rule, error);
}

static shot_status make_kernel(const void *settings, channel_kernel *out) {
    const struct smooth_settings *s = settings;
    shot_running_fit_rule rule;
    shot_reach reach;
    if (s->method == METHOD_LOWPASS)
        return lowpass_kernel_new((size_t)s->order, s->cutoff, s->errors, out);
    if (s->method == METHOD_MEDIAN) {
        SHOT_TRY(fit_kernel_reach(&s->window, &reach, NULL));
        return median_kernel_new(reach, s->fill, out);
    }
    SHOT_TRY(fit_rule_of(s, &rule, NULL));
    return has_cutoff(s) ? cutoff_kernel_new(&rule, s->cutoff, out) : fit_kernel_new(&rule, out);
}

static shot_status check(const struct smooth_settings *settings, shot_error *error) {
    shot_running_fit_rule rule;
    shot_reach reach;
    if (settings->method == METHOD_SAVGOL)
        return fit_rule_of(settings, &rule, error);
    if (settings->method == METHOD_MEDIAN)
        return fit_kernel_reach(&settings->window, &reach, error);
    if (!has_cutoff(settings) || settings->order < 1)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--method lowpass: give a --cutoff and an --order of 1 or more");
    return SHOT_OK;
}

static const char *why_none(const struct smooth_settings *settings) {
    return settings->method == METHOD_LOWPASS
               ? "too few between missing ones"
               : "too few in the window, or the shot is shorter than it";
}

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    const struct smooth_settings *settings = making->settings;
    *out = NULL;
    SHOT_TRY(check(settings, error));
    return by_channel_new(making,
                          &(by_channel_rule){.filter = "smooth",
                                             .channels = &settings->channels,
                                             .errors = settings->errors,
                                             .why_none = why_none(settings),
                                             .make = make_kernel},
                          out, error);
}

static void latency(const void *settings, char *out, size_t room) {
    const struct smooth_settings *s = settings;
    if (s->method == METHOD_LOWPASS)
        shot_latency_shot(settings, out, room);
    else if (s->errors)
        standard_errors_latency(out, room);
    else if (has_cutoff(s))
        snprintf(out, room, "half of the window that the cut-off stands for (see the help)");
    else
        fit_kernel_latency(&s->window, out, room);
}

static const char *const examples[] = {
    "shot-resample --rate 20 < shot.csv | shot-smooth --window 0.7s",
    "shot-smooth --channel flow --window 11 --order 3 --errors < shot.csv",
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
        "is what is left of it. lowpass runs a Butterworth filter over the shot and back, so that "
        "nothing is delayed and a straight line stays straight; it needs rows at even times "
        "(shot-resample) and holds the shot to its end.\n"
        "With --cutoff savgol takes the window whose half-power frequency is nearest, at the "
        "spacing of the channel's first nine samples. A window of order 2 or 3 with N samples cuts "
        "off at about 1.07/N of the sampling rate, one of order 4 or 5 at about 1.7/N.\n"
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
