/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-diff: derivatives as channels of their own. */
#include <shottrace/filter/diff.h>

#include "filter/fit_kernel.h"
#include "filter/fit_options.h"
#include "filter/standard_errors.h"

struct diff_settings {
    shot_texts channels;
    shot_span window;
    long derivative, order;
    bool taper, errors;
};

static const shot_option options[] = {
    FIT_OPTION_CHANNELS(struct diff_settings, "differentiate"),
    FIT_OPTION_WINDOW(struct diff_settings, NULL),
    {.letter = 'd',
     .name = "derivative",
     .kind = SHOT_OPTION_COUNT,
     .argument = "N",
     .initial = "1",
     .low = 1,
     .high = 9,
     .field = offsetof(struct diff_settings, derivative),
     .help = "which derivative: 1 the slope, 2 its change, ..."},
    {.letter = 'o',
     .name = "order",
     .kind = SHOT_OPTION_COUNT,
     .argument = "N",
     .low = 1,
     .high = 20,
     .field = offsetof(struct diff_settings, order),
     .help = "order of the polynomial; without it one more than the derivative"},
    FIT_OPTION_TAPER(struct diff_settings, NULL),
    FIT_OPTION_ERRORS(struct diff_settings, NULL, "derivative, NAME.d1.se"),
    {0}};

static shot_status rule_of(const struct diff_settings *settings, shot_running_fit_rule *rule,
                           shot_error *error) {
    *rule = (shot_running_fit_rule){
        .order = (size_t)(settings->order > 0 ? settings->order : settings->derivative + 1),
        .derivative = (size_t)settings->derivative,
        .tapered = settings->taper,
    };
    SHOT_TRY(fit_kernel_reach(&settings->window, &rule->reach, error));
    return fit_kernel_check(rule, error);
}

static shot_status make_kernel(const void *settings, channel_kernel *out) {
    shot_running_fit_rule rule;
    SHOT_TRY(rule_of(settings, &rule, NULL));
    return fit_kernel_new(&rule, out);
}

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    static const char *const suffixes[] = {".d1", ".d2", ".d3", ".d4", ".d5",
                                           ".d6", ".d7", ".d8", ".d9"};
    const struct diff_settings *settings = making->settings;
    shot_running_fit_rule rule;
    *out = NULL;
    SHOT_TRY(rule_of(settings, &rule, error));
    return by_channel_new(
        making,
        &(by_channel_rule){.filter = "diff",
                           .channels = &settings->channels,
                           .suffix = suffixes[settings->derivative - 1],
                           .seconds = -(int)settings->derivative,
                           .errors = settings->errors,
                           .why_none = "too few in the window, or the shot is shorter than it",
                           .make = make_kernel},
        out, error);
}

static void latency(const void *settings, char *out, size_t room) {
    const struct diff_settings *s = settings;
    if (s->errors)
        standard_errors_latency(out, room);
    else
        fit_kernel_latency(&s->window, out, room);
}

static const char *const examples[] = {
    "shot-diff --channel pressure < shot.csv",
    "shot-diff --channel weight --window 1.5s --errors < shot.csv",
    NULL,
};

const shot_description shot_diff = {
    .name = "diff",
    .purpose = "derivatives of channels, as channels of their own",
    .details =
        "Fits a polynomial by least squares to the samples in a window around each row, on their "
        "true times, and adds its derivative there: pressure [bar] gives pressure.d1 [bar/s]. On "
        "even times this is the Savitzky-Golay filter. Within half a window of the ends it is the "
        "polynomial of the first or last full window; nothing is padded.\n"
        "A missing sample has no derivative; neither has one with too few neighbours in the "
        "window, and a shot shorter than the window has none. Standard errors (--errors) come "
        "from the noise of the channel, a '# noise:' line or else an estimate for which the shot "
        "is held to its end; that a window is too long for a bend is not in them.",
    .examples = examples,
    .role = SHOT_ROLE_FILTER,
    .memory = SHOT_MEMORY_WINDOW,
    .settings_size = sizeof(struct diff_settings),
    .options = options,
    .make = make,
    .latency = latency,
};
